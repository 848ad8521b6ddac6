"""Class of a continuous laser, from the light that a single fault can let out.

Limits (accessible emission, point source), visible: class 1 0.39 mW, but ``0.039 C3`` mW where that
is lower (blue and violet); class 2 1 mW and class 3R 5 mW, times C6. From 700 nm on: class 1
``0.39 C4 C7`` mW, no class 2, class 3R five times class 1. Both: class 3B 0.5 W; class 4 above.
Class 1 of an extended source: ``0.7 C4 C6 C7 T2^-0.25`` mW.

Source. IEC 60825-1:2014, tables of accessible emission limits, second-hand (an IEEE list, a
published laser-safety e-book, a maker's guide to the classes) and from memory; the paid standard
was not read in full. Cross-check: limit of the eye times the area of a 7 mm pupil, within 3 %.
That the worst single fault counts, not the set-point: clause 5.1, second-hand.

Limits of validity. 400 to 1050 nm, continuous (0.25 s and longer). The power is taken as wholly
accessible: what a 7 mm aperture at 100 mm, or a 50 mm one at 2 m, would not catch is counted all
the same, so a wide or divergent beam may come out a class too high, never too low. Classes 1M, 2M
and 1C are therefore not given. Classes of 21 CFR 1040.10 differ below 5 mW. LEDs are not lasers
(see `led_risk`). Only the maker's measurement classifies a product; this is an estimate.
"""

import math
from dataclasses import dataclass

from diodewright.hazard.factors import SMALLEST_MRAD, c3, c4, c6, c7, t2_s
from diodewright.hazard.inputs import UNSEEN_FROM_NM, at_least_zero, retinal

__all__ = ["CLASSES", "ClassLimit", "class_limits", "classify"]

CLASSES = ("1", "2", "3R", "3B", "4")

_CLASS_1_S = 100.0
_CLASS_2_S = 0.25


@dataclass(frozen=True)
class ClassLimit:
    """Upper limit of one class.

    Attributes
    ----------
    laser_class : "1", "2", "3R", "3B" or "4".
    limit_W : highest accessible power that is still in this class [W]; infinite for class 4.
    time_base_s : length of exposure that it rests on [s]; None where it rests on none.
    meaning : in words.
    """

    laser_class: str
    limit_W: float
    time_base_s: float | None
    meaning: str


def _class_1_W(wavelength_nm: float, source_mrad: float) -> float:
    thermal_W = 3.9e-4
    if source_mrad > SMALLEST_MRAD:
        thermal_W = 7e-4 * c6(source_mrad, _CLASS_1_S) * t2_s(source_mrad) ** -0.25
    thermal_W *= c4(wavelength_nm) * c7(wavelength_nm)
    if wavelength_nm > 600:
        return thermal_W
    return min(thermal_W, 3.9e-5 * c3(wavelength_nm))


def class_limits(
    wavelength_nm: float, source_mrad: float = SMALLEST_MRAD
) -> tuple[ClassLimit, ...]:
    """Return the classes with their limits at one wavelength, the lowest first; no 2 from 700 nm.

    Parameters
    ----------
    wavelength_nm : wavelength [nm], 400 to 1050.
    source_mrad : angle of the apparent source at 100 mm [mrad]; leave it at 1.5 (a point, C6 = 1)
        unless it was measured: a bare or collimated diode is a point.

    Raises
    ------
    ValueError
        Where a value is outside its range.

    Examples
    --------
    >>> [f"{row.laser_class}: {1e3 * row.limit_W:.3g} mW" for row in class_limits(450)[:3]]
    ['1: 0.039 mW', '2: 1 mW', '3R: 5 mW']
    """
    retinal("wavelength_nm", wavelength_nm)
    class_1_W = _class_1_W(wavelength_nm, source_mrad)
    first = ClassLimit("1", class_1_W, _CLASS_1_S, "no injury, may dazzle")
    high = (
        ClassLimit("3B", 0.5, None, "beam and mirror reflections injure eyes"),
        ClassLimit("4", math.inf, None, "diffuse reflections injure eyes; burns skin, sets fires"),
    )
    if wavelength_nm >= UNSEEN_FROM_NM:
        meaning = "five times class 1, unseen: small risk, do not look"
        return first, ClassLimit("3R", 5 * class_1_W, _CLASS_1_S, meaning), *high
    relief = c6(source_mrad, _CLASS_2_S)
    return (
        first,
        ClassLimit("2", 1e-3 * relief, _CLASS_2_S, "no injury to who turns away at once; dazzles"),
        ClassLimit("3R", 5e-3 * relief, _CLASS_2_S, "five times class 2: small risk, do not look"),
        *high,
    )


def classify(worst_fault_W: float, wavelength_nm: float, source_mrad: float = SMALLEST_MRAD) -> str:
    """Return the class of a continuous laser.

    Parameters
    ----------
    worst_fault_W : highest optical power that any single fault can let out [W] (switch shorted,
        full pack, cold diode), **not** the power at the set-point.
    wavelength_nm : wavelength [nm], 400 to 1050.
    source_mrad : angle of the apparent source at 100 mm [mrad]; leave it at 1.5 unless measured.

    Returns
    -------
    "1", "2", "3R", "3B" or "4".

    Raises
    ------
    ValueError
        For a power below 0, and where a value is outside its range.

    Examples
    --------
    >>> classify(0.82, 520)
    '4'
    """
    at_least_zero("worst_fault_W", worst_fault_W, "W")
    rows = class_limits(wavelength_nm, source_mrad)
    return next(row.laser_class for row in rows if worst_fault_W <= row.limit_W)
