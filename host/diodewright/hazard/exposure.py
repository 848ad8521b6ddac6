"""Exposure limits (maximum permissible exposure) of eye and skin for visible laser light, CW.

Two limits hold for the eye at once, and the lower one counts:

- thermal, of the retina: ``18 C6 t^0.75 J/m2`` up to T2; after that 10 W/m2 for a point source
  and ``18 C6 T2^-0.25 W/m2`` for an extended one;
- photochemical, 400 to 600 nm: ``100 C3 J/m2`` up to 100 s, ``1 C3 W/m2`` after that, over a
  measuring cone.

Sources. IEC 60825-1:2014 Annex A and ICNIRP 2013 (Health Phys. 105(3), 271), both known second-hand
and from memory: **the paid standard was not read in full.** The thermal row for 18 us to 10 s was
read in BGI 832 (German accident insurers), table 6a; C3 (there C_B), T1, T2, the smallest angle
and the cones in the Norwegian regulation on action and limit values, section 11-5, and BGI 832,
A2.5.2. Skin from 10 s: a published laser-safety e-book, second-hand.

Limits of validity. 400 to 700 nm, one continuous exposure of 18 us to 30 000 s; no pulse trains,
no drugs that sensitise, no optical aids. The eye's limits are means over a 7 mm pupil. A collimated
beam or a bare diode is a **point source** (1.5 mrad or less) unless somebody measured otherwise,
whatever the width of the beam. The 0.25 s of the aversion response holds only for a chance look at
visible light by somebody who can and will turn away; the blink is no reliable reflex (DGUV
Information 203-042, section 6.1).
"""

import math
from dataclasses import dataclass

from diodewright.hazard.inputs import visible, within

__all__ = [
    "ExposureLimit",
    "c3",
    "c6",
    "cone_mrad",
    "exposure_limit",
    "skin_limit_W_m2",
    "t1_s",
    "t2_s",
]

SMALLEST_MRAD = 1.5
PUPIL_MM = 7.0
#: Area over which the eye's limits are averaged [m2].
PUPIL_M2 = math.pi / 4 * (PUPIL_MM * 1e-3) ** 2
_SHORTEST_S, _LONGEST_S = 18e-6, 30_000.0
_WIDEST_MRAD = 1000 * math.pi


@dataclass(frozen=True)
class ExposureLimit:
    """The limit at the eye for one exposure.

    Attributes
    ----------
    irradiance_W_m2 : limit of the irradiance, mean over a 7 mm pupil [W/m2].
    dose_J_m2 : the same as radiant exposure over the whole time [J/m2].
    governed_by : "thermal" or "photochemical", whichever is lower; "thermal" in a tie.
    cone_mrad : cone over which a photochemical exposure is measured [mrad]; None for thermal.
    """

    irradiance_W_m2: float
    dose_J_m2: float
    governed_by: str
    cone_mrad: float | None


def _check_time(time_s: float) -> None:
    within("time_s", time_s, _SHORTEST_S, _LONGEST_S, "s")


def _check_source(source_mrad: float) -> None:
    within("source_mrad", source_mrad, 0.0, _WIDEST_MRAD, "mrad")


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
    _check_source(source_mrad)
    _check_time(time_s)
    widest_mrad = 5.0 if time_s < 625e-6 else min(100.0, 200 * math.sqrt(time_s))
    return max(1.0, min(source_mrad, widest_mrad) / SMALLEST_MRAD)


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
    _check_source(source_mrad)
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
    _check_time(time_s)
    return 1.1 * math.sqrt(min(max(time_s, 100.0), 10_000.0))


def _thermal_W_m2(time_s: float, source_mrad: float) -> float:
    if source_mrad <= SMALLEST_MRAD and time_s >= 10:
        return 10.0
    effective_s = min(time_s, t2_s(source_mrad))
    return float(18 * c6(source_mrad, time_s) * effective_s**-0.25)


def _photochemical_W_m2(wavelength_nm: float, time_s: float) -> float:
    # The tables begin at 10 s, and IEC 60825-1 extends the limit down to 1 s for some wide sources
    # (from memory). From 1 s for all is the cautious side: it lowers a point source's limit by
    # 1.2 % at most, between 9.8 and 10 s.
    if wavelength_nm > 600 or time_s < 1:
        return math.inf
    return 100 * c3(wavelength_nm) / min(time_s, 100.0)


def exposure_limit(
    wavelength_nm: float, time_s: float, source_mrad: float = SMALLEST_MRAD
) -> ExposureLimit:
    """Return the exposure limit of the eye: the lower of thermal and photochemical.

    Parameters
    ----------
    wavelength_nm : wavelength [nm], 400 to 700.
    time_s : length of the exposure [s], 18 us to 30 000 s (a working day).
    source_mrad : angle of the apparent source at the eye [mrad]; leave it at 1.5 (a point)
        unless it was measured.

    Raises
    ------
    ValueError
        Where a value is outside its range.

    Examples
    --------
    A chance look at 532 nm, and a working day of 450 nm:

    >>> round(exposure_limit(532, 0.25).irradiance_W_m2, 2)
    25.46
    >>> exposure_limit(450, 30_000).irradiance_W_m2, exposure_limit(450, 30_000).governed_by
    (1.0, 'photochemical')
    """
    visible("wavelength_nm", wavelength_nm)
    _check_time(time_s)
    _check_source(source_mrad)
    thermal_W_m2 = _thermal_W_m2(time_s, source_mrad)
    photochemical_W_m2 = _photochemical_W_m2(wavelength_nm, time_s)
    # 500 nm is a tie that the power of ten must not decide.
    by_photons = photochemical_W_m2 < thermal_W_m2 * (1 - 1e-12)
    irradiance_W_m2 = min(thermal_W_m2, photochemical_W_m2)
    return ExposureLimit(
        irradiance_W_m2=irradiance_W_m2,
        dose_J_m2=irradiance_W_m2 * time_s,
        governed_by="photochemical" if by_photons else "thermal",
        cone_mrad=cone_mrad(time_s) if by_photons else None,
    )


def skin_limit_W_m2(time_s: float) -> float:
    """Return the exposure limit of the skin, 400 to 700 nm, as irradiance [W/m2].

    ``1.1e4 t^0.25 J/m2`` below 10 s (from memory), 2000 W/m2 from 10 s (second-hand). For small
    areas; large ones heat the body and stand less. ValueError outside 18 us to 30 000 s.

    Examples
    --------
    >>> skin_limit_W_m2(60)
    2000.0
    """
    _check_time(time_s)
    return 2000.0 if time_s >= 10 else float(1.1e4 * time_s**-0.75)
