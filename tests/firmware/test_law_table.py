"""Every mode with every combination of its conditions: the law does what the table says."""

from collections.abc import Callable, Iterable, Iterator
from functools import cache
from itertools import islice

import numpy as np
import pytest

import law_table
from desk import PLACES, Desk
from diodedriver import law, words
from diodewright.sim import compiled
from law_table import LIT, Case

GATED = {f"level_{i}_mA": 1500 for i in range(4)} | {"gate_mA": 1400, "start_mA": 1500}
ENABLES = dict.fromkeys(LIT, 7) | {"close": 8 + 4, "delay": 4}


def _base(gated: bool) -> tuple[Desk, Desk]:
    """Return a desk that runs and one that is dark, both healthy."""
    settings = GATED if gated else {}
    return Desk(**settings).lit(), Desk(**settings).tick(40)


def _begin(case: Case, desks: tuple[Desk, Desk]) -> Desk:
    """Return the desk of the case's kind, with its raw words; its state is set by `_bits`."""
    desk = desks[case.mode not in LIT]
    lit = case.mode in LIT
    pins = (case.trigger, case.key, case.interlock, case.comparator)
    desk.raw[0] = 2048 if lit else 0  # 1500 mA of 3000
    desk.raw[1] = 1925 if lit else 1300 if case.charged else 0  # 4.7 V and 3.2 V of 10
    desk.raw[2], desk.raw[3] = 2731, 0  # the pack, 8 V of 12
    desk.raw[4] = sum(1 << i for i, pin in enumerate(pins) if pin)
    desk.raw[5], desk.raw[6], desk.raw[7] = 1, 0, 0
    return desk


def _bits(case: Case, limit: Callable[[str], int]) -> Iterator[tuple[str, int]]:
    """Yield what the case's state words are set to."""
    wait = {
        "boot": "age_ticks",
        "close": "safe_mV",
        "start": "stage_ticks",
    }.get(case.mode)
    yield "mode", law_table.MODES.index(case.mode)
    yield (
        "mode_ticks",
        0 if not case.waited else 1 + limit(wait) * (case.mode != "close") if (wait) else 7,
    )
    healthy = not case.ill if case.mode == "close" else case.waited
    yield "lamp_ticks", limit("delay_ticks") * healthy
    yield "ramp", limit("ramp_ticks") if case.waited else 30
    yield "on_ticks", limit("auto_off_ticks") * case.auto_off
    yield "ready", case.ready
    yield "opened", case.opened
    rows = [row[0] for row in words.FAULTS]
    latched = [rows.index(row) for row in case.latched]
    yield "faults", sum(1 << row for row in latched)
    yield "cause", min(latched) + 1 if latched else 0
    yield "rest", limit("rest_ticks") * case.rested
    yield "budget", limit("budget_cap") * case.capped
    yield "enable", ENABLES.get(case.mode, 0)


def _judge(case: Case, desk: Desk, pulse: int) -> None:
    then = law_table.next_mode(case)
    assert desk.mode == then, case
    lit = then in LIT
    assert desk.word("enable") == ENABLES.get(then, 0), case
    assert desk.word("pulse") == (1 - pulse if lit else 0), case
    assert (desk.word("drive") > 0) == (desk.word("duty") > 0) == lit, case
    assert desk.faults() == case.left, case
    assert bool(desk.word("cause")) == bool(case.left), case
    hard = {name for bit, name in enumerate(words.HARD) if desk.word("hard") >> bit & 1}
    assert hard == case.hard, case
    ready = not case.trigger or (case.ready and not case.hard and case.mode != "dark")
    assert desk.word("ready") == ready, case
    assert (desk.word("mode_ticks") == 0) == (then != case.mode), case


def _every(gated: bool, step: int) -> Iterator[Case]:
    return islice((case for case in law_table.cases() if case.gated == gated), None, None, step)


@cache
def _sample(gated: bool, step: int) -> tuple[Case, ...]:
    return tuple(_every(gated, step))


def _judge_cases(gated: bool, step: int) -> int:
    """Judge every `step`-th case; all of them through the compiled law. Return how many."""
    desks = _base(gated)
    tick = compiled().tick if step == 1 else law.tick
    begins = [(desk.state[:], desk.readings[:]) for desk in desks]
    arrays = [(desk.state, desk.limits, desk.readings, desk.raw) for desk in desks]
    if step == 1:
        arrays = [tuple(np.frombuffer(each, dtype=np.int32) for each in row) for row in arrays]
    judged = 0
    asked: Iterable[Case] = _every(gated, step) if step == 1 else _sample(gated, step)
    for case in asked:
        desk = _begin(case, desks)
        dark = case.mode not in LIT
        desk.state[:], desk.readings[:] = begins[dark]
        desk.readings[PLACES[2]["indicator_uA"]] = 5000
        for name, value in _bits(case, desk.limit):
            desk.state[PLACES[0][name]] = value
        pulse = desk.word("pulse")
        tick(*arrays[dark])
        _judge(case, desk, pulse)
        judged += 1
    return judged


@pytest.mark.parametrize("gated", [False, True])
def test_every_mode_with_every_combination_of_conditions_does_what_the_table_says(
    gated: bool,
) -> None:
    assert _judge_cases(gated, step=1) == (len(words.MODES) + 1) * 2**11 * len(law_table.LATCHED)


@pytest.mark.parametrize("gated", [False, True])
def test_the_law_in_python_does_what_the_table_says_over_a_sample_of_its_cases(
    gated: bool,
) -> None:
    assert _judge_cases(gated, step=211) > 600


def test_every_row_of_the_table_decides_some_case() -> None:
    seen = set()
    for case in islice(law_table.cases(), None, None, 7):
        for row in law_table.TRANSITIONS:
            if case.mode in row[0].split() and law_table.CONDITIONS[row[1]](case):
                seen.add(row)
                break
    assert seen == set(law_table.TRANSITIONS)
