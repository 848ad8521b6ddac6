"""Prices: against a formula, and against the same problem solved again with a little more."""

from collections.abc import Callable, Sequence

import pytest
from formulas import LIGHT, asking, looks_of

from diodewright.tune.choice import Choice, Look, Row, merit
from diodewright.tune.climb import climb
from diodewright.tune.looks import Looks
from diodewright.tune.why import Wall, part_prices, why


def _problem(sum_most: float = 8.0, gain: float = 1.0) -> Looks:
    """Return g x y with x + y <= s and x^2 <= 9: at x = 3, y = s - 3 the best is 3 g (s - 3)."""
    return looks_of(
        {"light": lambda c: gain * c[0] * c[1]},
        [
            ("sum", 1, lambda c: sum_most - c[0] - c[1]),
            ("square", 2, lambda c: 9 - c[0] ** 2),
            ("loose", 2, lambda c: 9.5 - c[1]),
        ],
        (1.0, 1.0),
        step=1e-5,
    )


def _solved(looks: Looks) -> tuple[Choice, float]:
    at = climb(looks, LIGHT, looks.problem.start, rounds=40).at
    return at, merit(looks.one(at, "full"), LIGHT)


def test_prices_are_the_multipliers_of_the_closed_form() -> None:
    looks = _problem()
    at, light = _solved(looks)
    assert light == pytest.approx(15.0, rel=1e-4)
    found = why(looks, LIGHT, at)
    prices = {price.row.id: price.a_unit for price in found.prices}
    # L = x y + a (8 - x - y) + b (9 - x^2): a = x = 3, and y = a + 2 b x gives b = 1/3
    assert prices == {"sum": pytest.approx(3.0, rel=0.01), "square": pytest.approx(1 / 3, rel=0.01)}
    assert found.left < 0.01


def test_a_price_is_the_difference_of_two_problems_solved_again() -> None:
    looks = _problem()
    at, light = _solved(looks)
    prices = {price.row.id: price.a_unit for price in why(looks, LIGHT, at).prices}
    _, more = _solved(_problem(sum_most=8.1))
    _, less = _solved(_problem(sum_most=7.9))
    assert prices["sum"] == pytest.approx((more - less) / 0.2, rel=0.02)
    assert less < light < more


def test_what_a_better_part_buys_is_the_difference_of_two_problems_solved_again() -> None:
    looks = _problem()
    at, _ = _solved(looks)

    def aside(changed: Sequence[tuple[str, float]]) -> list[Look]:
        of = {"gain": lambda v: _problem(gain=v), "sum": lambda v: _problem(sum_most=v)}
        return [of[path](value).one(at, "full+") for path, value in changed]

    parts = (("gain", 1.0, 0.05), ("sum", 8.0, 0.05))
    found = {row.path: row for row in part_prices(why(looks, LIGHT, at), LIGHT, parts, aside)}
    solved: dict[str, Callable[[float], Looks]] = {
        "gain": lambda value: _problem(gain=value),
        "sum": lambda value: _problem(sum_most=value),
    }
    for path, value, by in parts:
        high, low = (_solved(solved[path](value + sign * by))[1] for sign in (1, -1))
        assert found[path].gains == pytest.approx((high - low) / 2, rel=0.02)
    assert found["gain"].through == ""
    assert found["sum"].through == "sum"


def test_a_key_at_the_end_of_its_range_has_a_price_of_its_own() -> None:
    looks = looks_of({"light": lambda c: 2 * c[0] - c[1]}, [], (5.0, 5.0))
    at, _ = _solved(looks)
    assert at == (10.0, 0.0)
    found = why(looks, LIGHT, at)
    assert [(bound.path, bound.end, bound.a_unit) for bound in found.bounds] == [
        ("k.0", "highest", pytest.approx(2.0)),
        ("k.1", "lowest", pytest.approx(1.0)),
    ]
    assert found.left < 1e-9


def test_a_key_that_can_go_neither_way_alone_is_told_with_what_is_said_against_it() -> None:
    looks = looks_of({"light": lambda c: c[0] + c[1]}, [], (5.0, 5.0))

    def refusing(choice: Choice, depth: str) -> Look:
        if choice[0] != 5.0:
            return Look({}, (), 0, ("too little" if choice[0] < 5.0 else "too much",))
        return looks._work(choice, depth)

    found = why(Looks(looks.problem, refusing), LIGHT, (5.0, 5.0))
    assert found.walls == (Wall("k.0", "too little", "too much"),)


def test_a_choice_that_is_not_the_best_leaves_its_slope_unexplained() -> None:
    looks = _problem()
    assert why(looks, LIGHT, (1.0, 1.0)).left == pytest.approx(1.0)


def test_what_is_asked_of_another_figure_has_a_price_too() -> None:
    looks = looks_of(
        {"light": lambda c: c[0], "pack_min": lambda c: 20.0 / c[0]}, [], (1.0,), step=1e-4
    )
    aim = asking("pack_min", 4.0)
    at = climb(looks, aim, (1.0,)).at
    assert at == (pytest.approx(5.0, rel=1e-3),)
    (price,) = why(looks, aim, at).prices
    assert isinstance(price.row, Row)
    assert price.row.id == "asked:pack_min"
    # light = 20 / minutes: one minute more asked costs 20 / 16
    assert price.a_unit == pytest.approx(20 / 16, rel=0.02)
