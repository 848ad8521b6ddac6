"""Refusal of impossible input, one sentence each: name, value, unit and what is allowed.

A NaN fails every comparison, so the checks are written as what must hold.
"""

import math

__all__ = ["above_zero", "at_least_zero", "retinal", "visible", "within"]

#: The range in which this room knows weightings and the limits of light that the eye sees [nm].
VISIBLE_NM = (400.0, 700.0)
#: From here on a laser counts as unseen [nm]: "400 to 700 nm" leaves its upper end out (IEC
#: 60825-1, from memory).
UNSEEN_FROM_NM = 700.0
#: The range in which it knows the limits of lasers [nm].
RETINAL_NM = (400.0, 1050.0)


def within(name: str, value: float, low: float, high: float, unit: str) -> None:
    """Raise ValueError unless ``low <= value <= high``; `name` and `unit` say which it was."""
    if not low <= value <= high:
        raise ValueError(f"{name} = {value:.9g} {unit}: outside {low:g} to {high:g} {unit}")


def visible(name: str, wavelength_nm: float) -> None:
    """Raise ValueError unless `wavelength_nm` [nm] is within 400 to 700 nm."""
    within(name, wavelength_nm, *VISIBLE_NM, "nm")


def retinal(name: str, wavelength_nm: float) -> None:
    """Raise ValueError unless `wavelength_nm` [nm] is within 400 to 1050 nm."""
    within(name, wavelength_nm, *RETINAL_NM, "nm")


def at_least_zero(name: str, value: float, unit: str) -> None:
    """Raise ValueError unless `value` is a finite number of at least 0."""
    if not 0 <= value < math.inf:
        raise ValueError(
            f"{name} = {value:.9g} {unit}: must be a finite number of at least 0 {unit}"
        )


def above_zero(name: str, value: float, unit: str) -> None:
    """Raise ValueError unless `value` is a finite number above 0."""
    if not 0 < value < math.inf:
        raise ValueError(f"{name} = {value:.9g} {unit}: must be a finite number above 0 {unit}")
