"""The beam in both axes: from emitter and lens to widths and divergences.

Equations, small angles, in each axis, with emitter width e, the bare divergence theta, and a thin
lens of focal length f::

    bare          width e,            divergence theta
    collimated    width f theta,      divergence e / f
    focused at L  lens at s = f L / (L - f) from the emitter:
                  spot e L / s,       divergence s theta / L beyond the focus
    along         width(z) = waist + divergence |z - waist's place|

Width times divergence stays e theta through any lens.

Source. Thin-lens optics (textbook); the sum of width and spread is the form of IEC TR 60825-14,
second-hand: the paid document was not read in full.

Limits of validity. Widths and divergences are full widths **at 1/e of the peak**, of Gaussian
beams; an emitter's stated width counts as that. Lenses are free of losses, errors and edges, and
the emitter's place is exact. Near a waist the true width is the root of the squares' sum (ISO
11146, from memory), so the form above gives up to 4 times too little irradiance within
waist / divergence of it, and up to that length too short a hazard distance. At 1 rad the
small-angle form is 9 % too narrow, which errs to the safe side.
"""

import math
from dataclasses import dataclass

from diodewright.hazard.distance import width_from_1_e2, width_from_half_maximum
from diodewright.hazard.inputs import above_zero, at_least_zero, within

__all__ = [
    "Beam",
    "Emitter",
    "bare_beam",
    "collimated_beam",
    "focused_beam",
    "stated_beam",
    "widths_mm",
]


@dataclass(frozen=True)
class Emitter:
    """What a laser diode's data sheet says of its light.

    Attributes
    ----------
    wide_um, high_um : width of the emitter along and across the junction [um].
    wide_deg, high_deg : full divergence at half maximum in the same axes [deg].
    """

    wide_um: float
    high_um: float
    wide_deg: float
    high_deg: float


@dataclass(frozen=True)
class Beam:
    """A beam of two axes.

    Attributes
    ----------
    wide_mm, high_mm : full widths at 1/e at the waist [mm].
    wide_mrad, high_mrad : full divergences at 1/e [mrad].
    waist_m : from where it leaves the optics to its waist [m]; 0 but for a focused beam.
    """

    wide_mm: float
    high_mm: float
    wide_mrad: float
    high_mrad: float
    waist_m: float = 0.0


def _check_emitter(emitter: Emitter) -> None:
    for name in ("wide_um", "high_um"):
        above_zero(name, getattr(emitter, name), "um")
    for name in ("wide_deg", "high_deg"):
        within(name, getattr(emitter, name), 0.1, 90.0, "deg")


def _bare_mrad(emitter: Emitter) -> tuple[float, float]:
    wide_deg, high_deg = (
        width_from_half_maximum(deg) for deg in (emitter.wide_deg, emitter.high_deg)
    )
    return 1000 * math.radians(wide_deg), 1000 * math.radians(high_deg)


def stated_beam(beam_mm: float, divergence_mrad: float) -> Beam:
    """Return the round beam whose full widths at 1/e2 a builder states.

    Parameters
    ----------
    beam_mm : full width at 1/e2 where it leaves the optics [mm], above 0.
    divergence_mrad : full divergence at 1/e2 [mrad], above 0.

    Raises
    ------
    ValueError
        Where a value is impossible.

    Examples
    --------
    >>> round(stated_beam(2.0, 10.0).wide_mm, 3)
    1.414
    """
    above_zero("beam_mm", beam_mm, "mm")
    above_zero("divergence_mrad", divergence_mrad, "mrad")
    mm, mrad = width_from_1_e2(beam_mm), width_from_1_e2(divergence_mrad)
    return Beam(mm, mm, mrad, mrad)


def bare_beam(emitter: Emitter) -> Beam:
    """Return the beam without any lens.

    Raises
    ------
    ValueError
        A width is not above 0 [um], or a divergence outside 0.1 to 90 [deg].

    Examples
    --------
    >>> beam = bare_beam(Emitter(15, 1, 7, 23))
    >>> round(beam.wide_mrad, 1), round(beam.high_mrad, 1)
    (146.7, 482.2)
    """
    _check_emitter(emitter)
    wide_mrad, high_mrad = _bare_mrad(emitter)
    return Beam(emitter.wide_um / 1000, emitter.high_um / 1000, wide_mrad, high_mrad)


def collimated_beam(emitter: Emitter, lens_focal_mm: float) -> Beam:
    """Return the beam behind a lens whose focus is at the emitter.

    Parameters
    ----------
    emitter : of the diode.
    lens_focal_mm : focal length [mm], above 0.

    Raises
    ------
    ValueError
        Where a value is impossible or outside its range.

    Examples
    --------
    >>> beam = collimated_beam(Emitter(15, 1, 7, 23), 4.0)
    >>> round(beam.wide_mm, 3), beam.wide_mrad
    (0.587, 3.75)
    """
    _check_emitter(emitter)
    above_zero("lens_focal_mm", lens_focal_mm, "mm")
    wide_mrad, high_mrad = _bare_mrad(emitter)
    return Beam(
        wide_mm=lens_focal_mm * wide_mrad / 1000,
        high_mm=lens_focal_mm * high_mrad / 1000,
        wide_mrad=emitter.wide_um / lens_focal_mm,
        high_mrad=emitter.high_um / lens_focal_mm,
    )


def focused_beam(emitter: Emitter, lens_focal_mm: float, focus_mm: float) -> Beam:
    """Return the beam behind one lens that images the emitter at a distance.

    Parameters
    ----------
    emitter : of the diode.
    lens_focal_mm : focal length [mm], above 0.
    focus_mm : from the lens to the image of the emitter [mm], above the focal length.

    Raises
    ------
    ValueError
        Where a value is impossible or outside its range.

    Examples
    --------
    >>> beam = focused_beam(Emitter(15, 1, 7, 23), 4.0, 100.0)
    >>> round(beam.wide_mm, 3), round(beam.wide_mrad, 2), beam.waist_m
    (0.36, 6.11, 0.1)
    """
    _check_emitter(emitter)
    above_zero("lens_focal_mm", lens_focal_mm, "mm")
    if not lens_focal_mm < focus_mm < math.inf:
        raise ValueError(
            f"focus_mm = {focus_mm:.9g} mm: must be beyond the focal length ({lens_focal_mm:g} mm)"
        )
    before_mm = lens_focal_mm * focus_mm / (focus_mm - lens_focal_mm)
    larger, flatter = focus_mm / before_mm, before_mm / focus_mm
    wide_mrad, high_mrad = _bare_mrad(emitter)
    return Beam(
        wide_mm=larger * emitter.wide_um / 1000,
        high_mm=larger * emitter.high_um / 1000,
        wide_mrad=flatter * wide_mrad,
        high_mrad=flatter * high_mrad,
        waist_m=focus_mm / 1000,
    )


def widths_mm(beam: Beam, distance_m: float) -> tuple[float, float]:
    """Return both full widths at 1/e [mm], so far from where the beam leaves the optics [m].

    ValueError for a distance below 0.

    Examples
    --------
    >>> widths_mm(Beam(1.0, 2.0, 10.0, 1.0), 3.0)
    (31.0, 5.0)
    """
    at_least_zero("distance_m", distance_m, "m")
    away_m = abs(distance_m - beam.waist_m)
    return beam.wide_mm + beam.wide_mrad * away_m, beam.high_mm + beam.high_mrad * away_m
