"""A front on formulas: complete, not beaten, and on the curve that the formula gives."""

from itertools import pairwise

import pytest
from formulas import LIGHT, looks_of

from diodewright.tune.choice import Aim, holds, merit
from diodewright.tune.front import LEAST_POINTS, Point, front, not_beaten
from diodewright.tune.looks import Looks
from diodewright.tune.search import Effort

SMALL = Effort(crowd=8, generations=2, climbs=0)
MINUTES = Aim("pack_min")


def _lamp() -> Looks:
    """Return light x within 1 <= x <= 5, minutes 20 / x: the front is light x minutes = 20."""
    return looks_of(
        {"light": lambda c: c[0], "pack_min": lambda c: 20.0 / c[0] - (c[1] - 3) ** 2},
        [("least", 1, lambda c: c[0] - 1.0), ("most", 3, lambda c: 5.0 - c[0])],
        (2.0, 1.0),
    )


@pytest.fixture(scope="module")
def points() -> tuple[Point, ...]:
    return front(_lamp(), LIGHT, MINUTES, 1, SMALL)


def test_a_front_has_its_points_on_the_curve_of_the_formula_from_end_to_end(
    points: tuple[Point, ...],
) -> None:
    pairs = [(p.look.figures["light"], p.look.figures["pack_min"]) for p in points]
    assert len(set(pairs)) == len(points) >= LEAST_POINTS
    assert pairs[0] == pytest.approx((5.0, 4.0), rel=0.01)
    assert pairs[-1] == pytest.approx((1.0, 20.0), rel=0.01)
    assert all(light * minutes == pytest.approx(20.0, rel=0.01) for light, minutes in pairs)
    assert all(holds(point.look, aim) for point in points for aim in (LIGHT, MINUTES))


def test_no_point_of_a_front_is_beaten_by_another_and_each_has_a_name(
    points: tuple[Point, ...],
) -> None:
    for a in points:
        for b in points:
            at_least = all(merit(a.look, aim) >= merit(b.look, aim) for aim in (LIGHT, MINUTES))
            more = any(merit(a.look, aim) > merit(b.look, aim) for aim in (LIGHT, MINUTES))
            assert not (at_least and more)
    assert [p.name for p in points] == [f"front-{i:02d}" for i in range(1, len(points) + 1)]


def test_the_points_are_spread_and_leave_no_wide_gap(points: tuple[Point, ...]) -> None:
    minutes = [point.look.figures["pack_min"] for point in points]
    gaps = [b - a for a, b in pairwise(minutes)]
    assert max(gaps) < 0.1 * (minutes[-1] - minutes[0])


def test_wishes_that_agree_have_one_setting() -> None:
    looks = looks_of(
        {"light": lambda c: c[0], "pack_min": lambda c: 3 * c[0]},
        [("most", 2, lambda c: 5.0 - c[0])],
        (2.0,),
    )
    (point,) = front(looks, LIGHT, MINUTES, 1, SMALL)
    assert point.look.figures["light"] == pytest.approx(5.0, rel=1e-3)


def test_where_nothing_holds_there_is_no_front() -> None:
    looks = looks_of({"light": lambda c: c[0]}, [("never", 2, lambda c: -1.0)], (2.0,))
    assert front(looks, LIGHT, MINUTES, 1, SMALL) == ()


def test_of_equal_ones_the_front_keeps_one() -> None:
    looks = _lamp()
    seen = [
        ((1.0, 1.0), looks.one((2.0, 3.0), "full")),
        ((2.0, 2.0), looks.one((2.0, 3.0), "full")),
    ]
    assert len(not_beaten(seen, LIGHT, MINUTES)) == 1
