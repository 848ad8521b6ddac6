"""A sweep's decisions: each rule ends it with its own words, and no step goes beyond the bound."""

import math
from dataclasses import replace
from itertools import pairwise

import pytest
from weak_diodes import Bench, Weak, draw, swept

from diodewright.bench import BenchError
from diodewright.bench.sweep import SIGNS, STOPS, Plan, Point, Step, Stop, next_step, replayed
from diodewright.bench.sweep_csv import as_csv, read_sweep
from diodewright.bench.sweep_plan import class_bound_A, planned, predicted_steps
from diodewright.bench.sweep_rules import RULES
from diodewright.bench.sweep_trail import Trail, end_slope_W_A, on_line, slope_W_A
from diodewright.build import load

LAMP = load("smoke_tunnel")
PLAN = planned(LAMP)
HEALTHY = Weak("healthy", {}, math.inf, 0.0, 9.0, math.inf)


def straight(until_A: float, step_A: float = 0.01) -> list[Point]:
    """Return a diode of one straight line above 0.25 A, without a flaw."""
    points = []
    for k in range(round((until_A - 0.1) / step_A) + 1):
        at_A = round(0.1 + k * step_A, 3)
        light_W = max(0.0, 0.8 * (at_A - 0.25))
        points.append(Point(at_A, at_A, 3.9 + 0.5 * at_A, light_W, 1e-5))
    return points


def ended(points: list[Point], plan: Plan = PLAN) -> Stop | None:
    return replayed(points, plan)[1]


def test_a_straight_line_goes_on_and_the_last_step_is_the_bound() -> None:
    assert ended(straight(1.3)) is None
    trail, _ = replayed(straight(1.48), PLAN)
    step = next_step(trail, PLAN)
    assert step == Step(PLAN.bound_A, step.error_W if isinstance(step, Step) else 0.0)
    last = replace(straight(1.48)[-1], asked_A=PLAN.bound_A, current_A=PLAN.bound_A)
    last = replace(last, light_W=0.8 * (PLAN.bound_A - 0.25), volts_V=3.9 + PLAN.bound_A / 2)
    end = ended([*straight(1.48), last])
    assert end is not None and end.kind == "bound"


def test_the_first_step_is_the_start_level_and_steps_grow_with_the_current() -> None:
    assert next_step(Trail(), PLAN) == Step(0.1, math.inf)
    dark, _ = replayed(straight(0.2), PLAN)
    lit, _ = replayed(straight(1.0), PLAN)
    before, after = next_step(dark, PLAN), next_step(lit, PLAN)
    assert isinstance(before, Step) and isinstance(after, Step)
    assert before.asked_A == pytest.approx(0.2 * 1.05, abs=1e-3)
    assert after.asked_A == pytest.approx(1.0 * 1.01, abs=1e-3)


LAST = straight(0.8)[-1]
AMISS = {
    "lost": replace(LAST, current_A=0.0),
    "held": replace(LAST, current_A=0.7),
    "current": replace(LAST, current_A=0.9),
    "unit": replace(LAST, light_W=440.0),
    "lag": replace(LAST, settled=False),
    "noise": replace(LAST, error_W=0.02),
    "kink": replace(LAST, light_W=LAST.light_W - 0.012),
}


@pytest.mark.parametrize("kind", AMISS)
def test_one_point_amiss_ends_it_and_says_what(kind: str) -> None:
    end = ended([*straight(0.8)[:-1], AMISS[kind]])
    assert end is not None and end.kind == kind and end.at_A == 0.8
    assert "\n" not in end.why and any(char.isdigit() for char in end.why)
    assert ended(straight(0.8)) is None  # it was that point


def test_light_that_never_comes_or_is_far_too_little_ends_it() -> None:
    dark = [replace(point, light_W=point.light_W / 1000) for point in straight(1.2)]
    weak = [replace(point, light_W=point.light_W / 3) for point in straight(1.2)]
    no_light, little = ended(dark), ended(weak)
    assert no_light is not None and no_light.kind == "no light"
    assert no_light.at_A < 1.9 * 0.25
    assert little is not None and little.kind == "weak"
    assert little.at_A < 0.5


def test_a_voltage_that_jumps_is_a_kink_though_the_light_goes_on() -> None:
    points = straight(0.8)
    points[-1] = replace(points[-1], volts_V=points[-1].volts_V - 0.08)
    end = ended(points)
    assert end is not None and end.kind == "kink" and "-80 mV" in end.why


def test_every_kind_of_stop_is_reached_and_has_words() -> None:
    assert {rule.__name__ for rule in RULES} >= {"_fell", "_bent", "_rolled", "_weak", "_noise"}
    assert set(SIGNS) <= set(STOPS)
    told = {*AMISS, "no light", "weak", "roll-over", "bound", "ended"}
    assert told == set(STOPS)


def test_the_lines_are_those_of_a_library() -> None:
    import numpy as np

    points = [Point(a, a, 4.0, 0.3 * a**3 + 0.1 * a, 0.0) for a in (0.31, 0.35, 0.4, 0.42, 0.5)]
    x = [point.asked_A for point in points]
    y = [point.light_W for point in points]
    line, bend = np.polyfit(x, y, 1), np.polyfit(x, y, 2)
    assert slope_W_A(points) == pytest.approx(line[0])
    assert on_line(points, 0.6, lambda p: p.light_W) == pytest.approx(np.polyval(line, 0.6))
    assert end_slope_W_A(points) == pytest.approx(2 * bend[0] * 0.5 + bend[1])


@pytest.mark.parametrize("seed", range(1, 41))
def test_a_table_of_the_sweep_gives_the_same_stop_at_the_same_point(seed: int, tmp_path) -> None:
    trail, stop = swept(Bench(LAMP, draw(LAMP, seed), seed), PLAN)
    file = tmp_path / "sweep.csv"
    file.write_text(as_csv(trail.points, {"build": LAMP.name}))
    again, end = replayed(read_sweep(str(file), PLAN), PLAN)
    assert (again, end) == (trail, stop)


def test_a_healthy_diode_is_taken_to_its_working_current() -> None:
    ends = [swept(Bench(LAMP, HEALTHY, seed), PLAN)[1] for seed in range(30)]
    assert {end.kind for end in ends} <= {"bound", "roll-over"}
    assert min(end.at_A for end in ends) > 1.3


def test_the_plan_stays_below_what_class_and_build_allow() -> None:
    assert class_bound_A(LAMP) == 1.5  # the highest level, below the diode's rating of 1.6 A
    off, count_A = 1.01, 1.65 / 1250  # set path and monitor: 1 % each; one count of the set
    assert PLAN.bound_A * off + count_A <= 1.5 < (PLAN.bound_A + 0.001) * off + count_A
    assert predicted_steps(LAMP, PLAN)[-1] == PLAN.bound_A
    assert max(b / a for a, b in pairwise(predicted_steps(LAMP, PLAN))) < 1.051


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ({"bound_A": 1.6}, "bound 1.6 A: allowed above 0.1 A"),
        ({"bound_A": 0.05}, "bound 0.05 A"),
        ({"fine": 0.2}, "step 20 %"),
    ],
)
def test_a_plan_beyond_the_class_is_refused(words: dict[str, float], said: str) -> None:
    with pytest.raises(BenchError, match=said):
        planned(LAMP, **words)


def test_what_can_not_be_swept_is_refused() -> None:
    with pytest.raises(BenchError, match="gated stage"):
        planned(load("gel_viewer"))
    with pytest.raises(BenchError, match="dummy"):
        planned(load("smoke_tunnel_dummy"))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "no column current_A; it has nothing"),
        ("current_A,light_W\n1,2\n", "no column volts_V"),
        ("current_A,volts_V,light_W\n0.1,4,0\n", "1 rows, allowed 3"),
        ("current_A,volts_V,light_W\n0.1,4,0\n0.2,4,x\n0.3,4,0\n", "line 3: light_W = 'x'"),
        ("current_A,volts_V,light_W\n0.1,4,0\n0.2,4,nan\n0.3,4,0\n", "line 3: light_W = 'nan'"),
        ("current_A,volts_V,light_W\n0.1,4,0\n0.2,4\n0.3,4,0\n", "line 3: 2 cells"),
        ("current_A,volts_V,light_W\n0.1,4,0\n0.1,4,0\n0.3,4,0\n", "line 3: the current must rise"),
    ],
)
def test_a_table_that_is_none_is_one_line(text: str, said: str, tmp_path) -> None:
    file = tmp_path / "old.csv"
    file.write_text(text)
    with pytest.raises(BenchError, match=said) as refused:
        read_sweep(str(file), PLAN)
    assert "\n" not in str(refused.value)


def test_a_plain_table_of_three_columns_is_enough(tmp_path) -> None:
    trail, stop = swept(Bench(LAMP, draw(LAMP, 3), 3), PLAN)
    file = tmp_path / "plain.csv"
    rows = [f"{p.asked_A},{p.volts_V},{p.light_W}" for p in trail.points]
    file.write_text("\n".join(["current_A,volts_V,light_W", *rows]))
    end = replayed(read_sweep(str(file), PLAN), PLAN)[1]
    assert end is not None and end.kind in (*SIGNS, "noise") and end.at_A <= stop.at_A
