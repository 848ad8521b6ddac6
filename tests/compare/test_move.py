"""What moved, told value by value: exactly, once, and with its sign."""

import math

import pytest

from diodewright.compare import Move, Row, moved


def _row(value: object, item: str = "x", figure: str = "") -> Row:
    return Row("size", item, figure, value, "V")  # type: ignore[arg-type]


def test_equal_sides_have_no_moves() -> None:
    rows = [_row(1.0), _row(None, "y"), _row(math.nan, "z"), _row(((1.0, 2.0),), "w")]
    again = [_row(1.0), _row(None, "y"), _row(math.nan, "z"), _row(((1.0, 2.0),), "w")]
    assert moved(rows, again) == ()


def test_a_number_that_moved_has_both_values_their_difference_and_unit() -> None:
    assert moved([_row(1.4)], [_row(1.5)]) == (Move("size", "x", "", "both", 1.4, 1.5, 0.1, "V"),)


@pytest.mark.parametrize(
    ("a", "b", "difference"),
    [
        (1.5, 1.4, -0.1),  # 1.4 - 1.5 is -0.10000000000000009 in binary
        (0.1 + 0.2, 0.3, -0.0),
        (1e12, 1e12 + 1, 1.0),
        (0.0, 5e-9, 5e-9),
        (5, 7.5, 2.5),
    ],
)
def test_a_difference_is_b_minus_a_without_the_dust_of_subtraction(
    a: float, b: float, difference: float
) -> None:
    (move,) = moved([_row(a)], [_row(b)])
    assert move.difference == pytest.approx(difference, rel=1e-12, abs=0)


@pytest.mark.parametrize(
    ("a", "b"),
    [
        (None, 1.0),
        (1.0, None),
        (math.inf, 1.0),
        (math.nan, 1.0),
        (True, False),
        ("a", "b"),
        (((1.0, 2.0),), ((1.0, 3.0),)),
        (1.0, "1.0"),
        (1.0, True),
        (None, False),
    ],
)
def test_what_is_no_pair_of_numbers_moves_without_a_difference(a: object, b: object) -> None:
    (move,) = moved([_row(a)], [_row(b)])
    assert (move.where, move.difference) == ("both", None)


def test_the_last_bit_of_a_number_counts() -> None:
    (move,) = moved([_row(1.0)], [_row(math.nextafter(1.0, 2.0))])
    assert move.where == "both"


def test_an_item_of_one_side_is_one_move_however_many_figures_it_has() -> None:
    left = [_row(1.0, "x", "value"), _row(2.0, "x", "limit"), _row(3.0, "y", "value")]
    right = [_row(3.0, "y", "value"), _row(4.0, "z", "value"), _row(5.0, "z", "limit")]
    assert [(m.item, m.figure, m.where, m.a, m.b) for m in moved(left, right)] == [
        ("x", "value", "A", 1.0, None),
        ("z", "value", "B", None, 4.0),
    ]


def test_a_figure_of_one_side_is_a_move_where_the_item_stands_on_both() -> None:
    left = [_row(1.0, "x", "value")]
    right = [_row(1.0, "x", "value"), _row(2.0, "x", "limit")]
    assert [(m.figure, m.where, m.b) for m in moved(left, right)] == [("limit", "B", 2.0)]


def test_turned_round_the_moves_turn_their_sign() -> None:
    left = [_row(1.0, "x"), _row(2.0, "y"), _row(7.0, "gone")]
    right = [_row(1.5, "x"), _row(2.0, "y"), _row(8.0, "new")]
    there, back = moved(left, right), moved(right, left)
    assert {(m.item, m.a, m.b) for m in there} == {(m.item, m.b, m.a) for m in back}
    assert {m.item: m.difference for m in there if m.difference} == {"x": 0.5}
    assert {m.item: m.difference for m in back if m.difference} == {"x": -0.5}


def test_values_of_two_units_have_no_difference_even_where_their_numbers_agree() -> None:
    (move,) = moved([Row("fault", "x", "", 2.0, "A")], [Row("fault", "x", "", 2.0, "W")])
    assert (move.a, move.b, move.difference, move.unit) == (2.0, 2.0, None, "A, W")
