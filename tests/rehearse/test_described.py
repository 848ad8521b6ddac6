"""A builder's own scenario, run: what it shows, and what it can't be judged by."""

import numpy as np
import pytest

from diodewright.build import load
from diodewright.rehearse import Rehearsal, read_scenario, rehearse
from diodewright.rehearse.described import _one_in
from diodewright.report.page import render
from diodewright.report.shape import document_of
from diodewright.sim import Trace

BURSTS = """name = "two bursts"
rest_s = {rest_s}

[[step]]
at_s = 0
do = "press"

[[step]]
at_s = {pause_s}
do = "release"

[[step]]
at_s = 75
do = "level"
level = "survey_A"

[[step]]
at_s = 76
do = "press"

{more}

[[step]]
at_s = 90
do = "end"
"""
FAULT = '[[step]]\nat_s = 80\ndo = "fault"\nfault = "{}"\n'


@pytest.fixture
def scenario(tmp_path):
    """Return a function that rehearses the text above with other times."""

    def run(more: str = "", pause_s: float = 70, rest_s: float = 20, seed: int = 1) -> Rehearsal:
        path = tmp_path / "own.toml"
        text = BURSTS.format(more=more, pause_s=pause_s, rest_s=rest_s)
        path.write_text(text, encoding="utf-8")
        build = load("cave_lamp")
        return rehearse(build, seed, "use", scenario=read_scenario(path, build))

    return run


def _statuses(done: Rehearsal) -> dict[str, str]:
    return {row["id"]: row["status"] for row in done.findings}


def _near(done: Rehearsal, at_s: float, column: str) -> float:
    times = done.traces["use"]["time_s"]
    place = min(range(len(times)), key=lambda i: abs(times[i] - at_s))
    return done.traces["use"][column][place]


def test_steps_act_at_their_times_and_levels_are_the_builds(scenario) -> None:
    """By its build file: burst 2.5 A, survey 0.5 A, dark while nobody presses."""
    done = scenario(rest_s=1800)
    assert _near(done, 40, "diode_A") == pytest.approx(2.5, rel=0.01)
    assert _near(done, 73, "diode_A") == pytest.approx(0.0, abs=0.01)
    assert _near(done, 88, "diode_A") == pytest.approx(0.5, rel=0.01)
    assert done.use["lit_s"] == pytest.approx(70 + 14, abs=0.5)
    assert done.use["use_s"] == 90
    assert _statuses(done)["light"] == "holds"


def test_the_verdict_is_incomplete_at_best_and_names_the_scenario(scenario) -> None:
    done = scenario(rest_s=1800)
    assert done.verdict == "INCOMPLETE"
    assert done.reasons[-1] == "only use was rehearsed, by the scenario two bursts"
    assert [row["said"] for row in done.scenario["steps"]] == [
        "trigger pressed",
        "trigger released",
        "level survey_A",
        "trigger pressed",
        "end",
    ]
    assert "--only use --scenario" in done.tightest["command"]


def test_light_is_not_judged_where_the_first_minute_is_broken(scenario) -> None:
    done = scenario(pause_s=30, rest_s=1800)
    assert _statuses(done)["light"] == "not judged"
    assert _statuses(done)["before-cutback"] == "not judged"
    assert done.use["light_first_minute_W"] is None
    assert document_of(Rehearsal.from_dict(done.as_dict())).use is not None


def test_what_a_fault_latches_is_told_and_is_no_false_trip(scenario) -> None:
    done = scenario(FAULT.format("stage-full-on"))
    assert _statuses(done)["no-false-trip"] == "holds"
    assert done.use["cause"] is None
    assert done.scenario["latched"] == "latch"
    assert _near(done, 88, "diode_A") == pytest.approx(0.0, abs=0.01)
    assert any("fault cases judge that" in line for line in done.leaves_out)


def test_damage_by_a_scenarios_fault_fails_and_its_pack_current_is_not_judged(scenario) -> None:
    """With a dead comparator a stage stuck full on takes the diode beyond its maximum."""
    done = scenario(FAULT.format("overcurrent-dead") + FAULT.format("stage-full-on"))
    assert done.verdict == "FAILS"
    assert _statuses(done)["diode-current"] == "fails"
    pack = next(row for row in done.findings if row["id"] == "pack-current")
    assert pack["value"] < 3.0 < done.use["peak_pack_A"], "judged until the fault only"


def test_a_fresh_start_without_rest_gives_less_light(scenario) -> None:
    """After power-up the heat budget counts as full: the law allows what it can sustain only."""
    assert _near(scenario(rest_s=0), 40, "diode_A") < 0.9 * 2.5


def test_same_scenario_gives_the_same_document_and_its_page_shows_the_steps(scenario) -> None:
    done = scenario()
    assert scenario().as_json() == done.as_json()
    page = render(document_of(done))
    assert "two bursts" in page
    assert "<td>level survey_A</td>" in page


def test_a_document_of_before_scenarios_is_still_read(scenario) -> None:
    values = scenario().as_dict()
    del values["scenario"]
    assert Rehearsal.from_dict(values).scenario == {}


def test_a_scenario_takes_the_place_of_the_use_only() -> None:
    build = load("cave_lamp")
    with pytest.raises(ValueError, match="only that is rehearsed"):
        rehearse(build, scenario=read_scenario("cave_lamp_survey", build))


def test_a_long_scenario_is_kept_in_few_rows_but_whole_at_its_rise() -> None:
    times = np.arange(0.0, 60.0, 0.02)
    kept = _one_in(Trace({"time_s": times}), 10, 30.0)["time_s"]
    near = np.abs(kept - 30.0) < 1.9
    assert np.count_nonzero(near) == np.count_nonzero(np.abs(times - 30.0) < 1.9)
    assert np.count_nonzero(~near) < 0.12 * len(times)
