"""The recording that ships: what it says of itself and shows, and that it can be made again."""

from pathlib import Path

import numpy as np
import pytest

from diodedriver import words
from diodewright.bench.outlook import Outlook
from diodewright.bench.record import Heard, load
from diodewright.build import load as load_build
from diodewright.derive import settings
from diodewright.report.watch_summary import summary_of
from diodewright.sim import Trace, law_hash
from serving import needs_micropython
from tooling import tool

TOOL = tool("record_twin")
SHIPPED = Path(__file__).parents[2] / "host" / "diodewright" / "examples" / TOOL.SHIPPED
MODES = [name for name, _ in words.MODES]
_INVERSE = {
    "mount_cK": ("mount_read_degC", 100, 27_315),
    "junction_cK": ("junction_law_degC", 100, 27_315),
    "rest_mV": ("rest_law_V", 1000, 0),
    "pack_mV": ("pack_read_V", 1000, 0),
    "drive": ("drive_A", 64_000, 0),
    "bound": ("bound", 1, 0),
    "level": ("level", 1, 0),
}


@pytest.fixture(scope="module")
def shipped() -> Trace:
    return load(SHIPPED)


def test_it_says_that_a_simulated_board_made_it_and_from_what(shipped: Trace) -> None:
    said = shipped.provenance
    assert said["recorder"] == "telemetry" and "no real one" in str(said["made_by"])
    assert said["seed"] == 7 and said["rest_s"] == 1800
    assert said["law"] == law_hash(), "stale: run tools/record_twin.py"
    assert said["fingerprint"] == load_build("smoke_tunnel").fingerprint, "stale: the same"
    assert (said["gaps"], said["damaged"], said["restarts"]) == (0, 0, 0)
    assert SHIPPED.stat().st_size < 100_000


def test_it_goes_from_a_press_through_cutback_to_the_dark(shipped: Trace) -> None:
    """The journey's figures: press at 2 s, delay 5 s, rise 0.5 s, cut back from 46 degC on."""
    time_s, mode = shipped["time_s"], shipped["mode"]
    kept = mode[np.flatnonzero(np.diff(mode, prepend=-1))]
    assert [MODES[int(code)] for code in kept] == [
        "dark", "delay", "soft_start", "run", "limited", "dark",
    ]  # fmt: skip
    found = summary_of(load_build("smoke_tunnel"), shipped)
    assert found["first_lit_s"] == pytest.approx(7.2, abs=0.3)
    cut = int(np.argmax(mode == MODES.index("limited")))
    assert 46 < shipped["mount_read_degC"][cut] < 47
    assert {int(bound) for bound in shipped["bound"][mode == MODES.index("limited")]} == {1}
    assert found["highest_current_read_A"] == pytest.approx(1.5, abs=0.03)
    assert found["highest_mount_read_degC"] < 56
    assert time_s[-1] > 475 and found["lit_s"] == pytest.approx(393, abs=2)
    assert len(found["not_judged"]) > 5


def test_no_time_said_on_the_way_was_later_than_what_came(shipped: Trace) -> None:
    limits = settings(load_build("smoke_tunnel"))
    outlook = Outlook(limits)
    cut_s = shipped["time_s"][np.argmax(shipped["mode"] == MODES.index("limited"))]
    said = []
    for row in range(len(shipped)):
        at_s, mode = shipped["time_s"][row], MODES[int(shipped["mode"][row])]
        values = {
            word: round(shipped[column][row] * scale) + zero
            for word, (column, scale, zero) in _INVERSE.items()
        }
        outlook.add(Heard(mode, values, at_s))
        if mode == "run" and row % 20 == 0:
            said.append((cut_s - at_s, outlook.cutback()))
    timed = [(true_s, each) for true_s, each in said if each.earliest_s is not None]
    assert len(timed) > 20
    assert all(each.by == "mount" for _, each in timed)
    assert all((each.earliest_s or 0) <= true_s + 1 for true_s, each in timed)
    late = [each.about_s / true_s for true_s, each in timed if each.about_s and 10 < true_s < 60]
    assert len(late) > 5 and all(0.75 < share < 1.0 for share in late)


def _made(*more: str) -> Trace:
    needs_micropython()
    line = ["smoke_tunnel", "--press", "1", "--release", "8", "--for", "9", "--rate", "10", *more]
    return TOOL.made(TOOL.asked(line))


def _same(one: Trace, other: Trace) -> bool:
    return list(one.columns) == list(other.columns) and all(
        one[name].tobytes() == other[name].tobytes() for name in one.columns
    )


def test_the_same_words_make_the_same_recording_and_another_seed_another() -> None:
    first, again, other = _made(), _made(), _made("--seed", "2")
    assert _same(first, again) and first.provenance == again.provenance
    assert not _same(first, other)
    assert first["current_read_A"].max() > 1.0 and first["mode"][-1] == MODES.index("dark")


def test_what_befalls_a_recorded_board_is_in_its_header() -> None:
    trace = _made("--event", "3", "plant.interlock", "0")
    assert [3.0, "plant.interlock", 0.0] in trace.provenance["events"]
    assert trace["current_read_A"].max() < 0.01
    with pytest.raises(SystemExit, match="nothing is called"):
        _made("--event", "3", "plant.nothing", "0")


@pytest.mark.by_hand
def test_the_shipped_recording_is_made_again_to_the_bit(shipped: Trace) -> None:
    again = TOOL.made(TOOL.asked(TOOL.SHIPPED_WORDS.split()))
    assert _same(shipped, again), "stale: run tools/record_twin.py"
