"""How a value of a build becomes a word: always to the safe side."""

import math

__all__ = ["given", "whole_cK", "whole_mA"]


def whole_mA(amperes: float) -> int:
    """Round a current [A] down to whole mA; the inner rounding undoes binary fractions."""
    return math.floor(round(1000 * amperes, 6))


def given(value: float | None, derived: float) -> float:
    """Return what the builder gave, else what is derived."""
    return derived if value is None else value


def whole_cK(celsius: float) -> int:
    """Round a threshold [degC] down to 0.01 K above absolute zero: earlier is safer."""
    return math.floor(round((celsius + 273.15) * 100, 6))
