"""Factors of the exposure limits: wavelength, size of the source, time.

Source. C3 (there C_B), T1, T2 and the smallest angle: read in the Norwegian regulation on action
and limit values, section 11-5; the cones in BGI 832, A2.5.2 (German accident insurers). C4 (there
C_A) read in the same regulation; C7 (there C_C) and the widest angles from memory of IEC
60825-1:2014: **the paid standard was not read in full.**

Limits of validity. 400 to 1050 nm; exposures of 18 us to 30 000 s.
"""

import math

from diodewright.hazard.inputs import retinal, visible, within

__all__ = [
    "SMALLEST_MRAD",
    "c3",
    "c4",
    "c6",
    "c7",
    "check_source",
    "check_time",
    "cone_mrad",
    "t1_s",
    "t2_s",
    "widest_mrad",
]

#: A source of this angle or less is a point to the eye [mrad].
SMALLEST_MRAD = 1.5
_SHORTEST_S, _LONGEST_S = 18e-6, 30_000.0
_HALF_SPACE_MRAD = 1000 * math.pi


def check_time(time_s: float) -> None:
    """Raise ValueError unless `time_s` [s] is within 18 us to 30 000 s.

    Examples
    --------
    >>> check_time(0.25)
    """
    within("time_s", time_s, _SHORTEST_S, _LONGEST_S, "s")


def check_source(source_mrad: float) -> None:
    """Raise ValueError unless `source_mrad` [mrad] is within 0 to pi radians.

    Examples
    --------
    >>> check_source(1.5)
    """
    within("source_mrad", source_mrad, 0.0, _HALF_SPACE_MRAD, "mrad")


def c4(wavelength_nm: float) -> float:
    """Return C4 (C_A in some tables), the relief where the retina absorbs less [1].

    1 up to 700 nm, then ``10^(0.002 (wavelength - 700))``, at most the 5 of the range that begins
    at 1050 nm. ValueError outside 400 to 1050 nm.

    Examples
    --------
    >>> c4(650), round(c4(808), 3), c4(1050)
    (1.0, 1.644, 5.0)
    """
    retinal("wavelength_nm", wavelength_nm)
    return min(5.0, float(10 ** (0.002 * max(0.0, wavelength_nm - 700))))


def c7(wavelength_nm: float) -> float:
    """Return C7 (C_C in some tables), the relief where the eye's front absorbs [1]: 1 to 1050 nm.

    It begins above 1150 nm, which this room does not serve. ValueError outside 400 to 1050 nm.

    Examples
    --------
    >>> c7(905)
    1.0
    """
    retinal("wavelength_nm", wavelength_nm)
    return 1.0


def c3(wavelength_nm: float) -> float:
    """Return C3 (C_B in some tables), the photochemical wavelength factor [1].

    1 up to 450 nm, then ``10^(0.02 (wavelength - 450))``. ValueError outside 400 to 700 nm; the
    photochemical limit itself ends at 600 nm.

    Examples
    --------
    >>> c3(500)
    10.0
    """
    visible("wavelength_nm", wavelength_nm)
    return float(10 ** (0.02 * max(0.0, wavelength_nm - 450)))


def c6(source_mrad: float, time_s: float) -> float:
    """Return C6 (C_E in some tables), the relief for a source that the eye sees as wide [1].

    1 up to 1.5 mrad, ``source / 1.5`` up to a widest angle of 5 mrad (below 0.625 ms),
    ``200 t^0.5`` or 100 mrad (from 0.25 s), and no more beyond it. The widest angles are from
    memory of IEC 60825-1:2014; the form for a source wider than that assumes a field of view
    limited to the widest angle.

    Parameters
    ----------
    source_mrad : angle that the apparent source subtends at the eye [mrad].
    time_s : length of the exposure [s], 18 us to 30 000 s.

    Raises
    ------
    ValueError
        For an angle below 0 or above pi radians, and for a time outside its range.

    Examples
    --------
    >>> c6(3, 0.25), round(c6(200, 10), 1)
    (2.0, 66.7)
    """
    check_source(source_mrad)
    check_time(time_s)
    return max(1.0, min(source_mrad, widest_mrad(time_s)) / SMALLEST_MRAD)


def widest_mrad(time_s: float) -> float:
    """Return the angle beyond which a wider source is no further relief [mrad].

    5 mrad below 0.625 ms, ``200 t^0.5`` to 0.25 s, then 100 mrad. ValueError outside 18 us to
    30 000 s.

    Examples
    --------
    >>> widest_mrad(0.01), widest_mrad(10)
    (20.0, 100.0)
    """
    check_time(time_s)
    return 5.0 if time_s < 625e-6 else min(100.0, 200 * math.sqrt(time_s))


def t1_s(wavelength_nm: float) -> float:
    """Return T1 [s], from when the photochemical limit of a point source undercuts the thermal.

    10 s up to 450 nm, ``10 * 10^(0.02 (wavelength - 450))`` s to 500 nm, 100 s above.
    ValueError outside 400 to 700 nm.

    Examples
    --------
    >>> round(t1_s(475), 2)
    31.62
    """
    return min(100.0, 10 * c3(wavelength_nm))


def t2_s(source_mrad: float) -> float:
    """Return T2 [s], from when eye movements hold the thermal limit of a wide source constant.

    10 s up to 1.5 mrad, ``10 * 10^((source - 1.5) / 98.5)`` s to 100 mrad, 100 s above.
    ValueError for an angle below 0 or above pi radians.

    Examples
    --------
    >>> round(t2_s(11), 2)
    12.49
    """
    check_source(source_mrad)
    seen_mrad = min(max(source_mrad, SMALLEST_MRAD), 100.0)
    return float(10 * 10 ** ((seen_mrad - SMALLEST_MRAD) / 98.5))


def cone_mrad(time_s: float) -> float:
    """Return the cone over which a photochemical exposure is measured [mrad].

    11 mrad up to 100 s, ``1.1 t^0.5`` up to 10 000 s, then 110 mrad. ValueError for a time outside
    18 us to 30 000 s.

    Examples
    --------
    >>> cone_mrad(400)
    22.0
    """
    check_time(time_s)
    return 1.1 * math.sqrt(min(max(time_s, 100.0), 10_000.0))
