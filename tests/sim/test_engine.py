"""Compiled means current: an edited law changes the engine, and its hash says which law ran."""

import numpy as np
import pytest

from diodedriver import law, words
from diodewright.build import load
from diodewright.derive import plant_values, settings
from diodewright.sim import (
    Event,
    Machine,
    Trace,
    compiled,
    lamp_use,
    law_hash,
    new_tally,
    plain,
    power_up,
)
from diodewright.sim import engine as engines

DARK_A = 0.015


@pytest.fixture(scope="module")
def build():
    return load("smoke_tunnel")


def _lit(build, engine, ticks: int, events: tuple[Event, ...] = ()) -> tuple[Machine, Trace]:
    machine = power_up(engine, plant_values(build), settings(build), seed=7)
    tally = new_tally(engine, DARK_A)
    trace = machine.run(ticks, tally, (*lamp_use(100, ticks - 300), *events), {"seed": 7})
    machine.tally = tally
    return machine, trace


def test_engine_carries_the_hash_of_the_law_on_disk() -> None:
    assert compiled().law_hash == plain().law_hash == law_hash()


def test_edited_copy_of_the_law_changes_the_engine(build) -> None:
    text = engines.law_text()
    edited = text.replace("(((x * x) >> 4) * (3072 - 2 * x)) >> 16", "x")
    assert edited != text
    other = compiled(edited)
    assert other.law_hash != compiled().law_hash
    _, smooth = _lit(build, compiled(), 5800)
    _, straight = _lit(build, other, 5800)
    early = (smooth["time_s"] > 5.15) & (smooth["time_s"] < 5.25)
    assert np.mean(straight["drive_A"][early]) > 1.2 * np.mean(smooth["drive_A"][early])


def test_compiled_and_uncompiled_loops_are_bit_identical_through_start_fault_and_release(
    build,
) -> None:
    events = (
        Event(5900, "plant.current_read_gain", 0.97),
        Event(6500, "plant.diode_open", 1),
        Event(6505, "plant.diode_open", 0),
    )
    fast, fast_trace = _lit(build, compiled(), 7000, events)
    slow, slow_trace = _lit(build, plain(), 7000, events)
    assert {"start", "soft_start", "limited", "fault"} <= {
        words.MODES[int(code)][0] for code in fast_trace["mode"]
    }
    for name in fast_trace.columns:
        assert np.array_equal(fast_trace[name], slow_trace[name]), name
    assert list(fast.state) == list(slow.state)
    assert [float(v) for v in fast.x.flat] == [float(v) for v in slow.x.flat]
    assert [float(v) for v in fast.tally.flat] == [float(v) for v in slow.tally.flat]


def test_a_run_in_two_pieces_from_a_snapshot_equals_one_run(build) -> None:
    engine = compiled()
    whole, _ = _lit(build, engine, 7000)
    machine = power_up(engine, plant_values(build), settings(build), seed=7)
    tally = new_tally(engine, DARK_A)
    events = lamp_use(100, 6700)
    machine.run(5600, tally, events)
    branch = machine.copy()
    machine.run(7000, tally, events)
    branch.run(7000, tally, events)
    assert list(machine.state) == list(branch.state) == list(whole.state)
    assert [float(v) for v in machine.x.flat] == [float(v) for v in branch.x.flat]


def test_same_seed_same_run_other_seed_other_noise(build) -> None:
    def reads(seed: int) -> list[float]:
        machine = power_up(compiled(), plant_values(build), settings(build), seed=seed)
        trace = machine.run(500, new_tally(compiled(), DARK_A), (), {})
        return list(trace["mount_read_degC"])

    assert reads(3) == reads(3)
    assert reads(3) != reads(4)


def test_a_name_defined_twice_among_law_plant_and_loop_is_refused() -> None:
    with pytest.raises(engines.EngineError, match="advance is defined twice"):
        compiled(engines.law_text() + "\n\ndef advance(x):\n    return x\n")


def test_unknown_event_target_is_refused_by_name(build) -> None:
    machine = power_up(compiled(), plant_values(build), settings(build))
    with pytest.raises(KeyError, match=r"plant\.diod_open"):
        machine.run(10, new_tally(compiled(), DARK_A), (Event(1, "plant.diod_open", 1),))


def test_loop_takes_its_words_from_the_places_that_the_law_gives_them() -> None:
    from diodewright.sim import loop, peaks

    places = {
        "LAW_MODE": "mode",
        "LAW_DRIVE": "drive",
        "LAW_ENABLE": "enable",
        "LAW_PULSE": "pulse",
        "LAW_DUTY": "duty",
        "LAW_FAULTS": "faults",
        "LAW_CAUSE": "cause",
        "LAW_ALLOWED": "allowed",
        "LAW_BOUND": "bound",
        "LAW_SUSPECT": "suspect",
        "LAW_BUDGET": "budget",
    }
    for constant, word in places.items():
        assert getattr(loop, constant) == words.index(words.STATE, word)
    assert words.index(words.SETTINGS, "duty_top") == loop.LIMIT_DUTY_TOP
    assert words.index(words.READINGS, "junction_cK") == loop.READ_JUNCTION
    assert words.index(words.READINGS, "rest_mV") == loop.READ_REST
    assert words.index(words.READINGS, "mount_cK") == 5
    assert words.index(words.READINGS, "sink_cK") == 6
    assert 1 << words.ENABLES.index("reset") == loop.RESET_BIT
    assert words.MODES[peaks.TALLY_LIMITED][0] == "limited"
    assert words.BOUNDS[peaks.TALLY_PACK] == "pack"
    assert law._LIMITED == peaks.TALLY_LIMITED
