# ruff: noqa: E501 one wrong law a row
"""A law with one fault is refuted by numbers that misbehave when it is run on them."""

import json
from pathlib import Path

import pytest

from diodewright.prove import prove_source, replay, save_case
from laws import TEXT, with_change

# (obligation that must fall, what stands in the law, what is made of it)
WRONG = [
    ("zero-hard", "    if (pins & _PIN_KEY) == 0:\n        hard |= 2\n", ""),
    ("hard-reasons", "    if state[_S_MODE] == _BOOT:\n        hard |= 32\n", ""),
    ("zero-latched", "        mode = _FAULT\n        if", "        mode = _LIMITED\n        if"),
    ("zero-mode", "if mode < _START or mode > _LIMITED:\n        state[_S_DRIVE] = 0",
     "if mode < _CLOSE or mode > _LIMITED:\n        state[_S_DRIVE] = 0"),
    ("keeps-dark", "        state[_S_DRIVE] = 0\n        state[_S_TRIM] = _TRIM_BIAS\n        return 0",
     "        state[_S_DRIVE] = 1\n        state[_S_TRIM] = _TRIM_BIAS\n        return 0"),
    ("detect-hot", "if readings[_R_LEAD_CK] >= limits[_L_TRIP_CK]",
     "if readings[_R_LEAD_CK] > limits[_L_TRIP_CK]"),
    ("detect-open", "current * 4 < asked or output", "current * 8 < asked or output"),
    ("detect-stale", "for i in range(_CHANNELS):\n        if readings[_R_PACK_AGE + i] > limits[_L_AGE_TICKS]:\n            bad",
     "for i in range(_NTC_CHANNELS):\n        if readings[_R_PACK_AGE + i] > limits[_L_AGE_TICKS]:\n            bad"),
    ("quiet-follow", "limits[_L_FOLLOW_MA] + (asked >> 4)", "limits[_L_FOLLOW_MA] + (asked >> 5)"),
    ("quiet-late", "        count = 0\n        if (bad >> row)",
     "        count = state[_S_COUNT_SETTINGS + row]\n        if (bad >> row)"),
    ("zero-soft", "            if count >= limit:", "            if count > limit:"),
    ("zero-rising", "        if state[_S_SUSPECT] != 0:\n            step = 0\n", ""),
    ("cause-kept", "if first != 0 and state[_S_CAUSE] == 0:", "if first != 0:"),
    ("cause-first", "                if first == 0:\n                    first = row + 1",
     "                first = row + 1"),
    ("latch", "    if (pins & _PIN_TRIGGER) != 0:\n        return 0\n", ""),
    ("latch-opened", "    if closed != (_PIN_KEY | _PIN_INTERLOCK):\n        state",
     "    if closed == (_PIN_KEY | _PIN_INTERLOCK):\n        state"),
    ("max", "    if wanted > most:\n        wanted = most\n", ""),
    ("max-absolute", "wanted > limits[_L_ABSOLUTE_MA] << 6:\n        wanted = limits[_L_ABSOLUTE_MA] << 6",
     "wanted > limits[_L_ABSOLUTE_MA] << 7:\n        wanted = limits[_L_ABSOLUTE_MA] << 7"),
    ("fall", "        wanted = now - limits[_L_FALL_Q64]", "        wanted = now - 1"),
    ("rise", "            wanted = now + step", "            wanted = now + step + 1"),
    ("trim", "    if trim < -authority:\n        trim = -authority\n", ""),
    ("trim-frozen", "state[_S_SUSPECT] == 0 and state[_S_DRIVE] == target + trim",
     "state[_S_DRIVE] == target + trim"),
    ("trim-capped", "elif mode == _RUN and state[_S_BOUND] != 0", "elif mode == _RUN and state[_S_BOUND] > 1"),
    ("bound", "if allowed >= limits[_L_LEVEL_0_MA", "if allowed > limits[_L_LEVEL_0_MA"),
    ("caps", "    if taken > most:\n        most = taken\n        bound = 2\n", ""),
    ("budget", "    if budget >= cap:\n        budget = cap\n        part = 0\n", ""),
    ("headroom", "room >= 2 * short:", "room >= short:"),
    ("headroom-floor", "    if held < limits[_L_START_MA]:\n        held = limits[_L_START_MA]\n", ""),
    ("gated", "    if limits[_L_GATE_MA] != 0:\n        wanted = start\n", ""),
    ("restart-rise", "        mode = _SOFT_START\n        state[_S_RAMP] = 0\n    elif",
     "        mode = _SOFT_START\n        state[_S_RAMP] = 1\n    elif"),
    ("relight", "    if mode == _DARK and state[_S_READY] != 0:\n        state[_S_READY] = 0\n",
     "    if mode == _DARK and state[_S_READY] != 0:\n"),
    ("relight-ready", "    elif hard != 0:\n        state[_S_READY] = 0", "    elif hard != 0:\n        state[_S_READY] = 1"),
    ("indicate", "elif mode == _CLOSE and lamp < limits[_L_DELAY_TICKS]:\n        mode = _DELAY\n    elif", "elif"),
    ("close", "output <= limits[_L_SAFE_MV]", "output <= limits[_L_SHORT_MV]"),
    ("enable", "        enable = _ON_A | _ON_B\n", "        enable = _ON_B\n"),
    ("pulse", "        pulse = 1 - state[_S_PULSE]", "        pulse = 1"),
    ("auto-off", "    if state[_S_ON_TICKS] >= limits[_L_AUTO_OFF_TICKS]:\n        mode = _DARK\n", ""),
    ("live", "state[_S_MODE_TICKS] >= limits[_L_STAGE_TICKS]:", "state[_S_MODE_TICKS] > limits[_L_STAGE_TICKS]:"),
    ("convert", "(code * limits[_L_CURRENT_FULL_MA]) >> 12", "(code * limits[_L_CURRENT_FULL_MA]) >> 11"),
    ("convert-channel", "        readings[_R_PACK_AGE + channel] = 0\n", ""),
    ("observe-power", "    if asked > current:\n        current = asked\n    power", "    power"),
    ("monotone-mount", "    if value >= end:\n        taken = depth\n",
     "    if value >= end:\n        taken = 0\n"),
    ("monotone-budget", "taken = int(fade(state[_S_BUDGET] >> 6,", "taken = int(fade(cap - (state[_S_BUDGET] >> 6),"),
    ("comms", "    readings[_R_POWER_MW] = power\n\n", "    readings[_R_POWER_MW] = power\n    limits[_L_TRIP_CK] = 60000\n\n"),
    ("copy", "    wrong = 0\n    for i in range(_LIMITS):", "    wrong = 0\n    for i in range(_LIMITS - 1):"),
    ("copy-divisor", "        latch(state, limits, readings, bad)\n        return int",
     "        observe_stores(state, limits, readings)\n        latch(state, limits, readings, bad)\n        return int"),
    ("copy-clamp", "    if wanted > _HARD_MAX:\n        wanted = _HARD_MAX\n", ""),
    ("any-state-guard", "    for i in range(_STATE):\n        stray |=", "    for i in range(_STATE - 1):\n        stray |="),
    ("any-state-dark", "stray |= value | (_HOTTEST - value) | age", "stray |= (_HOTTEST - value) | age"),
    ("any-state", "    if spent < _ONES:\n        spent += 1\n", "    spent += 1\n"),
    ("arithmetic", "        state[_S_RAMP] = 0\n    elif mode == _SOFT_START and", "    elif mode == _SOFT_START and"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "old", "new"), WRONG, ids=[row[0] for row in WRONG])
def test_wrong_law_is_refuted_by_a_case_that_misbehaves(
    name: str, old: str, new: str, tmp_path: Path
) -> None:
    source = with_change(old, new)
    proof = prove_source(source, [name], timeout_s=240, workers=0)
    (verdict,) = proof.obligations
    assert (verdict.id, verdict.status) == (name, "refuted"), verdict.why
    assert not proof.all_proved
    kept = json.loads(save_case(verdict.case, tmp_path).read_text())
    assert replay(kept, source) != ""
    assert replay(kept, TEXT) == ""
