"""A search on formulas: feasibility first, from its seed alone, stopped and taken up again."""

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from unittest.mock import ANY

import numpy as np
import pytest
from formulas import LIGHT, looks_of
from scipy.optimize import minimize

from diodewright.tune.choice import STAGES, Aim, Choice, Dial, Look, Row, better, holds, merit
from diodewright.tune.climb import climb, put_back
from diodewright.tune.crowd import first_crowd
from diodewright.tune.looks import Looks, Stopped
from diodewright.tune.problems import TuneError
from diodewright.tune.search import Effort, on_the_way, search

SMALL = Effort(crowd=12, generations=4, climbs=1)


def _product() -> Looks:
    """Return x y with x + y <= 8 (cheap), x <= 3 (a run), z >= 2 (a corner): 15 at (3, 5, 2)."""
    return looks_of(
        {"light": lambda c: c[0] * c[1]},
        [
            ("sum", 1, lambda c: 8 - c[0] - c[1]),
            ("first", 2, lambda c: 3 - c[0]),
            ("third", 3, lambda c: c[2] - 2),
        ],
        (1.0, 1.0, 1.0),
    )


def test_a_corner_of_three_constraints_is_found_from_a_start_that_misses_one() -> None:
    looks = _product()
    found = search(looks, LIGHT, 1, SMALL)
    assert not holds(found.start_look, LIGHT)
    assert holds(found.look, LIGHT)
    assert found.look.figures["light"] == pytest.approx(15.0, rel=1e-3)
    assert found.at[:2] == pytest.approx((3.0, 5.0), abs=0.01)


def test_a_rounded_hill_cut_by_a_slope_is_found_as_an_independent_solver_finds_it() -> None:
    def hill(c: Choice) -> float:
        return -((c[0] - 4.3) ** 2) - 2 * (c[1] - 2.2) ** 2 + c[0] * c[1] + 10

    looks = looks_of({"light": hill}, [("sum", 2, lambda c: 9 - c[0] - c[1])], (1.0, 1.0))
    found = search(looks, LIGHT, 1, SMALL)
    judge = minimize(
        lambda c: -hill(tuple(c)),
        (1.0, 1.0),
        constraints={"type": "ineq", "fun": lambda c: 9 - c[0] - c[1]},
    )
    assert found.look.figures["light"] == pytest.approx(-judge.fun, rel=1e-3)


def test_the_better_of_two_hills_is_found_though_the_start_stands_on_the_lower() -> None:
    def hills(c: Choice) -> float:
        return float(
            np.exp(-((c[0] - 2) ** 2) - (c[1] - 2) ** 2)
            + 2 * np.exp(-((c[0] - 7) ** 2 + (c[1] - 6) ** 2) / 4)
        )

    looks = looks_of({"light": hills}, [], (2.0, 2.0))
    found = search(looks, LIGHT, 3, Effort(crowd=24, generations=8))
    assert found.look.figures["light"] == pytest.approx(2.0, rel=1e-2)


def test_a_corner_that_typical_runs_tell_nothing_of_is_met_on_the_way_to_their_best() -> None:
    """Typical parts are flat from x = 9.8 on, where their climb ends; the corner bears x <= 9.5."""
    looks = looks_of(
        {"light": lambda c: min(c[0], 9.8)}, [("corner.touch", 3, lambda c: 9.5 - c[0])], (0.2,)
    )
    looks.one(looks.problem.start, "full")
    (between,) = on_the_way(looks, LIGHT, looks.problem.start, (9.8,))
    assert 9.2 <= between <= 9.5
    found = search(looks, LIGHT, 1, SMALL)
    assert found.look.figures["light"] == pytest.approx(9.5, rel=2e-3)


def test_a_ridge_is_followed_on_which_no_key_gains_alone() -> None:
    """The least of two lines, each rising with one key of its own: up to (8, 5) at its end."""
    looks = looks_of(
        {"light": lambda c: min(c[0] - 1.0, 1.4 * c[1])},
        [("most", 2, lambda c: 8.0 - c[0])],
        (3.8, 2.0),
    )
    assert climb(looks, LIGHT, (3.8, 2.0)).at == (pytest.approx(8.0, abs=0.01), ANY)
    assert climb(looks, LIGHT, (3.8, 2.0)).look.figures["light"] == pytest.approx(7.0, rel=2e-3)


@pytest.mark.parametrize(("most", "light"), [(12.0, 10 + 2 * 2 / 3), (60.0, 30.0)])
def test_slopes_of_faults_are_taken_only_where_a_fault_binds(most: float, light: float) -> None:
    """x + 2 y with x + 3 y <= most: (10, 2/3) where the fault binds, (10, 10) where it does not."""
    asked: list[tuple[Choice, str]] = []
    looks = looks_of(
        {"light": lambda c: c[0] + 2 * c[1]},
        [("fault.diode-current", 4, lambda c: most - c[0] - 3 * c[1])],
        (1.0, 3.0),
        asked=asked,
    )
    end = climb(looks, LIGHT, (1.0, 3.0))
    assert end.look.figures["light"] == pytest.approx(light, rel=2e-3)
    # each place that it stood at is looked into whole; places beside it only for slopes
    whole = sum(depth == "full+" for _, depth in asked)
    assert (whole > end.rounds) == (most == 12.0)


def test_a_start_that_nothing_beats_is_kept_to_the_digit() -> None:
    looks = looks_of({"light": lambda c: -abs(c[0] - 4.0004)}, [], (4.0004, 1.0))
    found = search(looks, LIGHT, 1, SMALL)
    assert found.at == found.start == (4.0004, 1.0)


def test_what_moves_nothing_stays_where_it_was() -> None:
    looks = looks_of({"light": lambda c: c[0]}, [("most", 2, lambda c: 7 - c[0])], (1.0, 3.3, 4.4))
    found = search(looks, LIGHT, 1, SMALL)
    assert found.at == (pytest.approx(7.0, abs=0.0011), 3.3, 4.4)


def test_a_key_that_moved_for_nothing_goes_back() -> None:
    looks = looks_of({"light": lambda c: c[0]}, [("most", 2, lambda c: 7 - c[0])], (1.0, 3.3, 4.4))
    assert put_back(looks, LIGHT, (7.0, 5.0, 6.0)) == (7.0, 3.3, 4.4)


def test_of_two_keys_that_can_go_back_one_at_a_time_only_one_does() -> None:
    either = ("either", 3, lambda c: max(c[1], c[2]) - 5.0)
    looks = looks_of({"light": lambda c: c[0]}, [either], (1.0, 3.0, 4.0))
    assert put_back(looks, LIGHT, (7.0, 6.0, 6.0)) == (7.0, 3.0, 6.0)


def test_the_start_is_in_the_first_population_and_the_rest_are_within_their_ranges() -> None:
    problem = _product().problem
    crowd = first_crowd(problem, (0, 2), 9, 1)
    assert crowd.shape == (9, 2)
    assert tuple(crowd[0]) == (1.0, 1.0)
    assert len(np.unique(crowd, axis=0)) == 9
    assert crowd.min() >= 0.0 and crowd.max() <= 10.0
    assert not np.array_equal(crowd, first_crowd(problem, (0, 2), 9, 2))


def test_what_fails_a_cheap_check_is_never_run() -> None:
    asked: list[tuple[Choice, str]] = []
    looks = looks_of(
        {"light": lambda c: c[0] + c[1]},
        [("sum", 1, lambda c: 8 - c[0] - c[1])],
        (1.0, 1.0),
        asked=asked,
    )
    search(looks, LIGHT, 1, SMALL)
    failed = [(c, depth) for c, depth in asked if c[0] + c[1] > 8 + 1e-6 and depth[-1] != "+"]
    assert {depth for _, depth in failed} >= {"nominal"}
    assert looks.simulations == sum(STAGES[d] - 1 for c, d in asked if (c, d) not in failed)


def test_the_same_seed_gives_the_same_search_whatever_the_number_of_workers() -> None:
    alone = search(_product(), LIGHT, 5, SMALL)
    with ThreadPoolExecutor(4) as pool:
        looks = _product()
        together = search(Looks(looks.problem, looks._work, pool), LIGHT, 5, SMALL)
    assert alone == together


@pytest.mark.parametrize("stop_after", [1, 30, 60])
def test_a_stopped_search_goes_on_to_the_same_end(tmp_path: Path, stop_after: int) -> None:
    whole = _product()
    expected = search(whole, LIGHT, 2, SMALL)
    file, count = tmp_path / "kept.json", 0

    def stops(choice: Choice, depth: str) -> Look:
        nonlocal count
        count += 1
        if count > stop_after:
            raise KeyboardInterrupt
        return whole._work(choice, depth)

    with pytest.raises(Stopped):
        search(Looks(whole.problem, stops, file=file, of={"seed": 2}), LIGHT, 2, SMALL)
    again = Looks(whole.problem, whole._work, file=file, of={"seed": 2})
    assert again.resumed == stop_after
    assert search(again, LIGHT, 2, SMALL) == expected
    assert again.simulations == whole.simulations


def test_a_file_kept_for_another_seed_or_of_no_search_is_refused(tmp_path: Path) -> None:
    looks, file = _product(), tmp_path / "kept.json"
    kept = Looks(looks.problem, looks._work, file=file, of={"seed": 2})
    kept.one(looks.problem.start, "full")
    kept.save()
    with pytest.raises(TuneError, match="kept for seed = 2, asked for 3"):
        Looks(looks.problem, looks._work, file=file, of={"seed": 3})
    for text in ("{", "[]", '{"format": 2}', '{"format": 2, "of": {"seed": 2}, "seen": [1]}'):
        file.write_text(text)
        with pytest.raises(TuneError, match="not what a search keeps"):
            Looks(looks.problem, looks._work, file=file, of={"seed": 2})


def _look(light: float, *rooms: float, stage: int = 4) -> Look:
    rows = tuple(Row(str(i), room, 1.0) for i, room in enumerate(rooms))
    return Look({"light": light}, rows, stage)


def test_of_two_choices_feasibility_decides_then_the_figure_then_what_is_missed() -> None:
    """Deb's three rules (Comput. Methods Appl. Mech. Engrg 186 (2000), 311, section 3)."""
    assert better(_look(1.0, 0.0), _look(9.0, -0.1), LIGHT)
    assert better(_look(2.0, 0.0), _look(1.0, 5.0), LIGHT)
    assert better(_look(1.0, -0.1), _look(9.0, -0.2), LIGHT)
    assert better(_look(1.0, -0.4), _look(9.0, -0.2, -0.3), LIGHT)
    # stopped at an earlier stage is further away, however little it misses there
    assert better(_look(1.0, -9.0), _look(9.0, -0.1, stage=1), LIGHT)
    assert not better(_look(1.0, 0.0), _look(1.0, 0.0), LIGHT)


def test_as_little_as_can_be_is_wanted_where_the_sense_says_so() -> None:
    least = Aim("light", -1)
    assert better(_look(1.0, 0.0), _look(2.0, 0.0), least)
    assert merit(_look(2.0), least) == -2.0


def test_a_dial_keeps_to_its_steps_within_its_range() -> None:
    dial = Dial("k", 0.05, 1.0, 0.1, 0.33)
    assert [dial.snapped(value) for value in (0.0, 0.14, 0.33, 5.0)] == [0.1, 0.1, 0.3, 1.0]
    assert Dial("k", 2, 13, 1.0, 6.0, power=True).given(6.0) == 1 / 64
