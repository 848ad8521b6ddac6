"""What feeds back between pack, heat and law: seen where it must appear, and absent elsewhere.

Each story runs a shipped lamp twice: as it is, and with one word or one part changed so that the
trouble that its settings keep away must show.
"""

from typing import Any

import numpy as np
import pytest

from diodewright.build import Build, load
from diodewright.derive import criteria, settings
from diodewright.judge import judge
from diodewright.rehearse.use import tally_values
from diodewright.sim import Event, Machine, Trace, new_tally
from lamps import held, powered

#: The air is so cold that heat never cuts back: what binds is the pack.
COLD: dict[str, object] = {"ambient_degC": 5.0}
#: Law's words of a light that its pack never dims nor locks out.
UNGUARDED = {
    "cutback_mV": 510,
    "cutback_end_mV": 505,
    "lockout_mV": 501,
    "loaded_min_mV": 501,
    "headroom_mV": 0,
}


@pytest.fixture(scope="module")
def tunnel() -> Build:
    return load("smoke_tunnel")


def _lit(
    build: Build,
    charge: float,
    laws: dict[str, int] | None = None,
    plants: dict[str, object] | None = None,
    seconds: float = 60.0,
) -> tuple[Machine, Trace, dict[str, float]]:
    """Return machine, Trace and Tally after `seconds` of light asked for, still held."""
    machine = powered(build, charge, laws, plants)
    tally = new_tally(machine.engine, 0.01)
    events = held(machine, build, seconds)
    trace = machine.run(events[-1].tick, tally, events, {"build": build.name})
    assert trace is not None
    return machine, trace, tally_values(tally)


def _settled(trace: Trace, seconds: float = 30.0) -> Any:
    """Return what the law asked for in the last `seconds` [A]."""
    return trace["drive_A"][trace["time_s"] > trace["time_s"][-1] - seconds]


def _turns(values: Any, least: float) -> int:
    """Return how often `values` turn back by more than `least`."""
    turns, way, extreme = 0, 0, float(values[0])
    for value in map(float, values):
        if way >= 0 and value < extreme - least:
            turns, way, extreme = turns + (way > 0), -1, value
        elif way <= 0 and value > extreme + least:
            turns, way, extreme = turns + (way < 0), 1, value
        elif way != 0:
            extreme = max(extreme, value) if way > 0 else min(extreme, value)
    return turns


def test_turns_are_counted_as_a_hand_counts_them() -> None:
    assert _turns([0, 1, 2, 1, 0, 1, 2], 0.5) == 2
    assert _turns([0, 1, 2, 1.8, 2.1, 1.9], 0.5) == 0
    assert _turns([2, 1, 0], 0.5) == 0


@pytest.mark.parametrize("factor", [1.0, 3.0, 8.0])
def test_a_cold_pack_is_dimmed_before_it_drops_out(tunnel: Build, factor: float) -> None:
    machine, trace, values = _lit(tunnel, 0.2, plants={**COLD, "cell_R_factor": factor})
    assert machine.cause() is None
    assert machine.true("dropout") == 0
    assert values["first_pack_cut_s"] > 0
    assert 0.3 <= float(trace["diode_A"][-1]) < 1.4
    # the stage gives what the law asks, to the accuracy of a healthy one
    assert float(trace["diode_A"][-1]) == pytest.approx(float(trace["drive_A"][-1]), rel=5e-3)


def test_the_same_pack_without_cutback_drops_out_and_ends_dark(tunnel: Build) -> None:
    plants = {**COLD, "cell_R_factor": 8.0}
    machine, trace, _ = _lit(tunnel, 0.1, UNGUARDED, plants)
    lit = trace["drive_A"] > 0.1
    short_A = trace["drive_A"][lit] - trace["diode_A"][lit]
    assert float(short_A.max()) > 0.1
    assert machine.cause() == "follow"
    # and a warm pack at that charge carries the same light without cutback
    warm, _, _ = _lit(tunnel, 0.1, UNGUARDED, COLD)
    assert warm.cause() is None and warm.true("diode_A") == pytest.approx(1.5, rel=5e-3)


def _pressed_ten_times(
    build: Build, laws: dict[str, int] | None = None
) -> tuple[int, Machine, Trace]:
    """Press a lamp on a cold, nearly empty pack ten times; return how often it was lit."""
    machine = powered(build, 0.1, laws, {**COLD, "cell_R_factor": 8.0})
    events = [
        Event(machine.now + 1000 + 30_000 * k + lag, "plant.trigger", value)
        for k in range(10)
        for lag, value in ((0, 1), (25_000, 0))
    ]
    trace = machine.run(machine.now + 300_000, new_tally(machine.engine, 0.01), events, {"n": 10})
    assert trace is not None
    lit = trace["diode_A"] > 0.01
    return int((lit[1:] & ~lit[:-1]).sum()), machine, trace


def test_a_locked_out_pack_that_recovers_stays_out(tunnel: Build) -> None:
    lit, machine, trace = _pressed_ten_times(tunnel)
    assert (lit, machine.mode(), machine.cause()) == (1, "pack_low", "pack_low")
    # it did recover: resting it is above the lockout again, which is not yet the re-arm voltage
    words = settings(tunnel)
    assert 1000 * float(trace["pack_V"].min()) < words["lockout_mV"]
    assert words["lockout_mV"] < 1000 * machine.true("pack_V") < words["rearm_mV"]


def test_with_a_re_arm_that_a_resting_pack_reaches_the_light_comes_and_goes(tunnel: Build) -> None:
    laws = {"rearm_mV": settings(tunnel)["lockout_mV"] + 10, "rest_ticks": 0}
    lit, _, _ = _pressed_ten_times(tunnel, laws)
    assert lit == 10


def test_sag_is_never_compensated_beyond_the_resting_pack(tunnel: Build) -> None:
    for charge in (0.12, 0.15, 0.3, 0.9):
        machine, trace, _ = _lit(tunnel, charge, plants=COLD)
        rested_V = float(trace["rest_law_V"][-1])
        assert machine.true("pack_V") < rested_V < machine.true("pack_ocv_V")


def test_over_compensated_sag_holds_full_light_on_an_empty_pack(tunnel: Build) -> None:
    # True resistance 0.236 ohm (R0, R1 and wiring); 0.6 ohm are believed: more light, more volts.
    honest, _, honest_values = _lit(tunnel, 0.15, plants=COLD)
    fooled, trace, fooled_values = _lit(tunnel, 0.15, {"sag_mohm": 600}, COLD)
    assert honest.true("diode_A") < 1.0
    assert fooled.true("diode_A") == pytest.approx(1.5, rel=5e-3)
    assert float(trace["rest_law_V"][-1]) > fooled.true("pack_ocv_V") + 0.1
    assert fooled_values["least_pack_V"] < honest_values["least_pack_V"] - 0.1
    # the light itself raises the estimate: positive feedback
    before_V = trace["rest_law_V"][trace["drive_A"] == 0][-1]
    assert float(trace["rest_law_V"][-1]) > float(before_V)


@pytest.mark.parametrize("name", ["smoke_tunnel", "cave_lamp", "smoke_tunnel_dummy"])
@pytest.mark.parametrize("charge", [0.12, 0.15, 0.2])
def test_no_shipped_light_hunts_in_its_packs_cutback(name: str, charge: float) -> None:
    build = load(name)
    _, trace, values = _lit(build, charge, plants={"ambient_degC": build.heat.ambient_min_degC})
    level_A = build.levels.by_current[0][1]
    assert values["first_pack_cut_s"] > 0
    assert _turns(_settled(trace), 0.02 * level_A) == 0


@pytest.mark.parametrize("name", ["smoke_tunnel", "cave_lamp"])
def test_no_shipped_light_hunts_in_its_heats_cutback(name: str) -> None:
    build = load(name)
    plants: dict[str, object] = {"ambient_degC": build.heat.ambient_max_degC + 10}
    _, trace, values = _lit(build, 1.0, plants=plants, seconds=400)
    assert values["first_heat_cut_s"] > 0
    assert _turns(_settled(trace, 150), 0.02 * build.levels.by_current[0][1]) == 0


def test_a_gated_light_goes_dark_once_and_does_not_chatter() -> None:
    build = load("gel_viewer")
    for charge, air_degC in ((0.2, 10.0), (0.25, 10.0), (1.0, build.heat.ambient_max_degC + 10)):
        _, trace, values = _lit(build, charge, plants={"ambient_degC": air_degC}, seconds=300)
        lit = trace["diode_A"] > 0.01
        assert values["lit_s"] > 10
        assert int((lit[1:] & ~lit[:-1]).sum()) == 1


@pytest.mark.parametrize(
    ("laws", "plants", "seconds"),
    [
        ({"sag_mohm": 0, "pack_shift": 0, "cutback_end_mV": 6899}, COLD, 60),
        ({"hot_cK": 31916}, {}, 300),
    ],
    ids=["pack", "heat"],
)
def test_a_bang_bang_cutback_hunts(
    tunnel: Build, laws: dict[str, int], plants: dict[str, object], seconds: float
) -> None:
    # 6.899 V for 6.900 V, and 46.01 degC for 46 degC: no band at all.
    charge = 0.2 if "sag_mohm" in laws else 1.0
    _, trace, _ = _lit(tunnel, charge, laws, plants, seconds)
    assert _turns(_settled(trace), 0.02 * 1.5) >= 10


def _with_a(a_ohm: float, a_air_K_W: float) -> dict[str, object]:
    return {"a_ohm": a_ohm, "a_air_K_W": a_air_K_W, "ambient_degC": 30.0}


@pytest.mark.parametrize(
    ("a_ohm", "a_air_K_W", "settled_degC"), [(0.02, 62, 32.90), (0.2, 150, 134.50)]
)
def test_a_mosfet_below_a_loop_gain_of_1_settles_where_the_closed_form_says(
    tunnel: Build, a_ohm: float, a_air_K_W: float, settled_degC: float
) -> None:
    # [Ta + theta I^2 R25 (1 - 25 alpha)]/(1 - g), g = theta I^2 R25 alpha: 0.014 and 0.338.
    machine, _, values = _lit(tunnel, 1.0, plants=_with_a(a_ohm, a_air_K_W))
    assert machine.cause() is None
    # the diode's current is 1.5 A less the bleeder's
    assert machine.true("a_degC") == pytest.approx(settled_degC, rel=5e-3)
    held_A = {row.id: row.status for row in judge(criteria(tunnel), values, "use")}
    assert held_A["cutoff-a-channel"] == "holds"


def test_an_undersized_mosfet_runs_away_and_fails(tunnel: Build) -> None:
    # 0.2 ohm and 500 K/W at 1.5 A: g = 1.125. It climbs ever faster, until its voltage looks like
    # an open diode to the law: far past what any channel stands, which the judge says.
    machine, trace, values = _lit(tunnel, 1.0, plants=_with_a(0.2, 500), seconds=10)
    lit = trace["diode_A"] > 1.4
    hot_degC, at_s = trace["a_degC"][lit], trace["time_s"][lit]
    speeds = [
        float(np.interp(s, at_s, hot_degC)) for s in (at_s[-1] - 0.4, at_s[-1] - 0.2, at_s[-1])
    ]
    assert speeds[2] - speeds[1] > speeds[1] - speeds[0] > 0
    assert machine.cause() == "open"
    assert values["peak_a_degC"] > 250
    (found,) = [
        row for row in judge(criteria(tunnel), values, "use") if row.id == "cutoff-a-channel"
    ]
    assert found.status == "fails" and "lower on-resistance" in found.mend
