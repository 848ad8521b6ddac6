"""Margins: nothing from nothing, more from more, the same on any number of cores, and it bites."""

import dataclasses
import json
import pickle
from concurrent.futures import ThreadPoolExecutor

import pytest

from diodewright.build import load, with_value
from diodewright.derive import plant_values, settings
from diodewright.derive.tolerances import tolerances
from diodewright.faults import CORE, by_id
from diodewright.rehearse import Rehearsal, margins, rehearse
from diodewright.rehearse.margins import covered_share, draws_of, margins_of, margins_reasons
from diodewright.rehearse.moments import fresh
from diodewright.rehearse.trial import TrialJob, run_trial
from diodewright.rehearse.use import PRESS_S, USE_S, dark_A, first_cause, rested, tally_values
from diodewright.report.shape import document_of
from diodewright.sim import Event, compiled, new_tally, power_up

LAMP = load("smoke_tunnel")
WORDS = settings(LAMP)
ROWS = {row.name: row for row in tolerances(LAMP)}
CASES = ((by_id("stage-full-on"), "steady"), (by_id("connector-bounce"), "soft-start"))


ALL = tuple(ROWS.values())


def _job(draws, rows=ALL, cases=(), seed: int = 1) -> TrialJob:
    machine = power_up(compiled(), plant_values(LAMP), WORDS)
    return TrialJob(LAMP, machine, WORDS, rows, draws, seed, cases)


@pytest.fixture(scope="module")
def nominal():
    return run_trial(_job({}, cases=CASES))


def _some(*names: str, **changes):
    """Return rows of the shipped build, with limits changed (``low``, ``high``)."""
    return tuple(dataclasses.replace(ROWS[name], **changes) for name in names)


def _margins(build=LAMP, rows=(), builds: int = 1, pool=None):
    return margins_of(build, compiled(), 1, builds, pool=pool, rows=rows)


def test_parts_without_tolerance_are_the_nominal_build_to_the_last_bit(nominal) -> None:
    exact = tuple(dataclasses.replace(row, low=0.0, high=0.0) for row in ROWS.values())
    ends = dict.fromkeys(ROWS, 1.0)
    assert run_trial(_job(ends, exact, CASES)) == nominal


def test_a_job_travels_to_another_process(nominal) -> None:
    job = pickle.loads(pickle.dumps(_job({}, cases=CASES)))
    assert run_trial(job) == nominal


def test_a_use_without_its_rest_shows_what_one_behind_half_an_hour_does(nominal) -> None:
    """Also held here: one sub-step a tick in settled light against the usual four."""
    charge = LAMP.pack.start_charge_pct / 100
    middle_A = (LAMP.comparator.trip_min_A + LAMP.comparator.trip_max_A) / 2
    machine = rested(LAMP, compiled(), 1, charge, middle_A)
    assert machine.word("budget") == pytest.approx(0.0067 * WORDS["budget_cap"], rel=0.1)
    tally, press = new_tally(compiled(), dark_A(LAMP)), machine.now
    fresh(LAMP, machine, tally, WORDS["ramp_ticks"], CORE)
    machine.run(press + 1000 * USE_S, tally)
    whole = tally_values(tally)
    for name, within in (
        ("peak_junction_degC", 0.05),
        ("peak_mount_degC", 0.02),
        ("peak_sink_degC", 0.02),
        ("peak_current_A", 0.002),
    ):
        assert nominal.values[name] == pytest.approx(whole[name], abs=within), name
    cut_s = whole["first_heat_cut_s"] - PRESS_S - LAMP.limits.delay_s
    assert nominal.values["before_cutback_s"] == pytest.approx(cut_s, abs=1.0)


@pytest.mark.parametrize(
    ("name", "column"),
    [
        ("ambient", "peak_sink_degC"),
        ("forward-voltage", "peak_junction_degC"),
        ("cell-resistance", "least_pack_V"),
    ],
)
def test_a_wider_tolerance_never_swings_less(name: str, column: str) -> None:
    swings = []
    for share in (0.5, 1.0):
        row = ROWS[name]
        rows = _some(name, low=share * row.low, high=share * row.high)
        found = [run_trial(_job({name: z}, rows)).values[column] for z in (-1.0, 1.0)]
        swings.append(max(found) - min(found))
    assert swings[0] < swings[1]


@pytest.fixture(scope="module")
def small():
    """Return the margins of three tolerances and four drawn builds."""
    return _margins(rows=_some("comparator-trip", "forward-voltage", "monitor-gain"), builds=4)


def test_two_workers_find_the_same_as_one(small) -> None:
    with ThreadPoolExecutor(2) as pool:
        again = _margins(
            rows=_some("comparator-trip", "forward-voltage", "monitor-gain"), builds=4, pool=pool
        )
    assert again == small


def test_each_drawn_build_is_its_seeds_and_numbers_alone() -> None:
    rows = tuple(ROWS.values())
    first = draws_of(rows, 1, 1)
    assert draws_of(rows, 1, 1) == first
    assert draws_of(rows, 2, 1) != first
    assert draws_of(rows, 1, 2) != draws_of(rows, 2, 1)
    assert draws_of(rows[:5], 1, 1)[0] == {row.name: first[0][row.name] for row in rows[:5]}


def _row(found, name: str, scope: str):
    return next(row for row in found["quantities"] if (row["id"], row["scope"]) == (name, scope))


def test_the_comparators_band_moves_a_stuck_stages_peak_by_half_of_it(small) -> None:
    """Trip + slope * delay: the band of 1.68 to 1.82 A moves the peak by 70 mA either way."""
    row = _row(small, "diode-current", "fault")
    trip = next(by for by in row["by"] if by["tolerance"] == "comparator-trip")
    assert trip["worst"] - row["nominal"] == pytest.approx(0.07, rel=0.02)
    assert trip["swing_share"] > 0.8
    assert trip["eats_share"] == pytest.approx(0.07 / (2.0 - row["nominal"]), rel=0.02)


def test_the_corner_is_worse_than_any_part_alone_and_than_what_is_drawn(small) -> None:
    for name, scope in (("diode-current", "fault"), ("junction", "use")):
        row = _row(small, name, scope)
        alone = max(by["worst"] for by in row["by"])
        assert row["corner"] > alone
        assert row["nominal"] < row["corner"]
        assert row["drawn_worst"] < row["corner"]
        assert row["status"] == "holds"
        assert row["margin_worst"] == pytest.approx((row["limit"] - row["corner"]) / row["limit"])


def test_what_is_asked_of_typical_parts_is_told_and_never_fails(small) -> None:
    light = _row(small, "light", "use")
    assert light["status"] == "told"
    assert not light["judged"]
    assert margins_reasons(small) == []


def test_the_worst_of_59_drawn_builds_covers_95_percent_at_95_percent_confidence() -> None:
    """Wilks' first-order one-sided bound: 59 runs for 95/95, the textbook number."""
    assert covered_share(59) >= 0.95 > covered_share(58)
    assert covered_share(1000) == pytest.approx(0.997, abs=1e-4)


def test_a_slow_comparator_within_its_tolerance_fails_by_the_current_that_it_lets_through() -> None:
    """Thrice 1 us more at (8.3 - 4.5) V over 47 uH lets a quarter of an ampere more through."""
    found = _margins(rows=_some("comparator-delay", low=0.0, high=3.0))
    row = _row(found, "diode-current", "fault")
    assert row["status"] == "fails"
    reasons = margins_reasons(found)
    assert reasons[0].startswith("margins, fault: true peak diode current")
    assert "limit 2; mend: a faster comparator" in reasons[0]
    assert found["lost"]


def test_a_false_trip_fails_like_damage() -> None:
    """A monitor that reads a sixth high sees more than follow_mA and a sixteenth allow."""
    found = _margins(rows=_some("monitor-gain", low=0.0, high=0.16))
    assert {row["cause"] for row in found["trips"]} <= {"follow", "overcurrent"}
    (said,) = margins_reasons(found)
    assert "monitor-gain high latches" in said
    assert "mend: " in said


def test_a_build_whose_guard_band_does_not_fit_fails_by_how_much_with_a_mend() -> None:
    wide = with_value(LAMP, "sensors.monitor_tolerance_pct", 6.0)
    (said,) = margins_reasons(_margins(wide, rows=_some("monitor-zero")))
    assert "the guard band of overcurrent (overcurrent_mA) is 0.127 A" in said
    assert "0.0028 A short; mend: a monitor of less tolerance" in said


def test_a_rehearsal_of_margins_alone_is_incomplete_and_goes_through_json(monkeypatch) -> None:
    monkeypatch.setattr(margins, "tolerances", lambda build: _some("monitor-zero"))
    done = rehearse(LAMP, only="margins", builds=2)
    assert done.verdict == "INCOMPLETE"
    assert done.reasons == ["only margins was rehearsed"]
    assert done.margins["builds"] == 2
    back = Rehearsal.from_dict(json.loads(done.as_json()))
    assert back == done
    shown = document_of(back).margins
    assert shown is not None
    assert shown.tripped_builds == 0


def test_a_drift_within_what_healthy_parts_spread_is_told_but_not_judged() -> None:
    """gel_viewer's module a tenth low, then a quarter up: 0.79 A, which a healthy one may give."""
    gel = load("gel_viewer")
    words = settings(gel)
    machine = power_up(compiled(), plant_values(gel), words)
    cases = ((by_id("own-shunt-drift"), "steady"),)
    low = run_trial(TrialJob(gel, machine, words, tolerances(gel), {"module": -1.0}, 1, cases))
    assert low.lost == {}
    assert "still lit" in low.unnoticed["own-shunt-drift@steady"]
    assert low.faults["diode-current"][0].value < 0.85


def test_a_row_that_the_release_clears_is_still_a_false_trip() -> None:
    """A thermistor that reads hot for a while latches "hot", which a release clears."""
    machine = power_up(compiled(), plant_values(LAMP), WORDS)
    tally = new_tally(compiled(), dark_A(LAMP))
    events = (
        Event(1000, "plant.trigger", 1),
        Event(7500, "plant.mount_read_gain", 0.3),
        Event(7900, "plant.mount_read_gain", 1.0),
        Event(8500, "plant.trigger", 0),
    )
    machine.run(60_000, tally, events)
    assert machine.cause() is None
    assert first_cause(tally) == "hot"
