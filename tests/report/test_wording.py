"""Numbers as people read them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diodewright.report.wording import (
    against,
    dark_after,
    label,
    left,
    number,
    prose,
    quantity,
    text_bar,
)


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (1.6299, 3, "1.63"),
        (0.0, 3, "0"),
        (999.7, 3, "1000"),
        (245988.99, 3, "245989"),
        (-0.2932, 3, "-0.293"),
        (None, 3, "never"),
        (49983.0, 5, "49983"),
    ],
)
def test_a_number_shows_its_digits_and_no_exponent(value: float, digits: int, text: str) -> None:
    assert number(value, digits) == text


@given(st.floats(1e-3, 1e6), st.integers(3, 6))
def test_a_printed_number_is_right_to_its_last_digit(value: float, digits: int) -> None:
    assert abs(float(number(value, digits)) - value) <= 0.51 * 10 ** (1 - digits) * value * 10 or (
        value >= 10**digits and abs(float(number(value, digits)) - value) <= 0.5
    )


@pytest.mark.parametrize("sense", ["at_most", "at_least"])
@given(step=st.floats(1e-6, 0.5), side=st.sampled_from([-1, 1]), limit=st.sampled_from([2.0, 125]))
def test_a_value_off_its_limit_is_never_printed_as_the_limit(
    sense: str, step: float, side: int, limit: float
) -> None:
    shown = against(limit + side * step, limit, "A", sense).split(" ")[0]
    assert float(shown) != limit


def test_a_value_at_its_limit_is_printed_as_the_limit() -> None:
    assert against(2.0, 2.0, "A", "at_most") == "2 A, at most 2"


def test_what_was_not_judged_says_so() -> None:
    assert against(None, 240.0, "s", "at_least") == "not judged, at least 240 s"


@pytest.mark.parametrize(
    ("margin", "text"),
    [
        (0.2306, "23.1 % left"),
        (-0.2932, "29.3 % beyond"),
        (0.0, "0 % left"),
        (1e-5, "under 0.1 % left"),
        (-1e-5, "under 0.1 % beyond"),
        (None, "no margin"),
    ],
)
def test_a_small_margin_keeps_its_side(margin: float | None, text: str) -> None:
    assert left(margin) == text


@pytest.mark.parametrize(
    ("margin", "filled"),
    [(-0.2, 0), (0.0, 0), (0.01, 1), (0.1, 1), (0.11, 2), (1.0, 10), (7.0, 10)],
)
def test_the_bar_fills_one_mark_for_each_begun_tenth(margin: float, filled: int) -> None:
    assert text_bar(margin) == "█" * filled + "░" * (10 - filled)


def test_keys_and_units_read_as_words() -> None:
    assert label("before_cutback_s") == "before cutback"
    assert quantity(45.0, "degC") == "45 °C"
    assert quantity(65.0, "mohm") == "65 mΩ"
    assert prose("above 150 degC at 25 W/m2") == "above 150 °C at 25 W/m²"


def test_times_to_dark_read_as_words() -> None:
    assert dark_after(None) == "lit until release"
    assert dark_after(0.0) == "dark at once"
    assert dark_after(3.0) == "dark after 3 ms"
    assert dark_after(245989.0) == "dark after 246 s"
