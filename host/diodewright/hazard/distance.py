"""Hazard distances: from where on a beam, or its spot on a wall, is below the exposure limit.

Equations. Beam (nominal ocular hazard distance)::

    r = (sqrt(4 G P / (pi E)) - a) / phi

Diffuse spot, Lambert's law::

    r = sqrt(rho P cos(theta) / (pi E))

with power P, exposure limit E, beam width a and divergence phi, gain G of viewing optics,
reflectance rho and angle theta from the normal.

Source. IEC TR 60825-14 and ANSI Z136.1 appendix B, second-hand and from memory; the paid documents
were not read in full. Published check: "1000 mW, 1 mrad: 225 m" in a UK laser-safety e-book.

Limits of validity. Width and divergence are full widths **at 1/e of the peak** (63 % of the power
inside); data sheets give 1/e2 or half maximum: convert. For a Gaussian beam, P over the 1/e area is
exactly its peak irradiance, so the answer holds for the brightest point. Circular beams; for an
elliptical one give the smaller width and the smaller divergence, which errs to the long side. Clear
air, no scintillation, no hot spots. Divergence counts from the exit; a focus outside it is left
out. At 1 rad the small-angle form is 9 % too long. A mirror reflection is the beam, not the spot.
"""

import math

from diodewright.hazard.inputs import above_zero, at_least_zero, within

__all__ = ["diffuse_distance_m", "nohd_m", "width_from_1_e2", "width_from_half_maximum"]


def width_from_1_e2(width: float) -> float:
    """Return the full width at 1/e of a Gaussian from that at 1/e2 (86 % inside), any unit.

    ``width / sqrt(2)``, for a beam width as for a divergence. ValueError below 0.

    Examples
    --------
    >>> round(width_from_1_e2(2.0), 4)
    1.4142
    """
    at_least_zero("width", width, "")
    return width / math.sqrt(2)


def width_from_half_maximum(width: float) -> float:
    """Return the full width at 1/e of a Gaussian from that at half maximum, any unit.

    ``width / sqrt(ln 2)``: 20 % more. Laser diodes' data sheets give half-maximum divergences.
    ValueError below 0.

    Examples
    --------
    >>> round(width_from_half_maximum(7.0), 2)
    8.41
    """
    at_least_zero("width", width, "")
    return width / math.sqrt(math.log(2))


def nohd_m(
    power_W: float,
    limit_W_m2: float,
    divergence_mrad: float,
    beam_mm: float = 0.0,
    gain: float = 1.0,
) -> float:
    """Return the nominal ocular hazard distance of a circular beam.

    Parameters
    ----------
    power_W : optical power; for a label the highest that a single fault can give [W].
    limit_W_m2 : exposure limit of the eye [W/m2], see `exposure.exposure_limit`.
    divergence_mrad : full divergence at 1/e [mrad], 0.01 to 1000.
    beam_mm : full width at the exit, at 1/e [mm]; 0 errs to the long side.
    gain : what viewing optics add to the irradiance [1], 1 (bare eye) to 50 (7 x 50 binoculars;
        from memory).

    Returns
    -------
    Distance from the exit [m]; 0 where the beam is below the limit at its exit.

    Raises
    ------
    ValueError
        Where a value is impossible or outside its range.

    Examples
    --------
    1 W with 1 mrad, a chance look of 0.25 s:

    >>> round(nohd_m(1.0, 25.46, 1.0), 1)
    223.6
    """
    at_least_zero("power_W", power_W, "W")
    above_zero("limit_W_m2", limit_W_m2, "W/m2")
    within("divergence_mrad", divergence_mrad, 0.01, 1000.0, "mrad")
    at_least_zero("beam_mm", beam_mm, "mm")
    within("gain", gain, 1.0, 50.0, "")
    safe_m = math.sqrt(4 * gain * power_W / (math.pi * limit_W_m2))
    return max(0.0, safe_m - beam_mm * 1e-3) / (divergence_mrad * 1e-3)


def diffuse_distance_m(
    power_W: float, limit_W_m2: float, reflectance: float = 1.0, angle_deg: float = 0.0
) -> float:
    """Return from how far a beam's spot on a matt surface is below the exposure limit.

    Parameters
    ----------
    power_W : optical power in the spot [W].
    limit_W_m2 : exposure limit of the eye [W/m2]; that of a point source errs to the safe side.
    reflectance : share that the surface throws back [1], 0 to 1; white paper 0.8 to 0.9 (typical,
        no source).
    angle_deg : angle of view from the surface's normal [deg], 0 to 90.

    Returns
    -------
    Distance from the spot [m]. Near a wide spot the true irradiance is lower than Lambert's
    far field, so the answer errs to the long side.

    Raises
    ------
    ValueError
        Where a value is impossible or outside its range.

    Examples
    --------
    >>> round(diffuse_distance_m(1.0, 10.0, reflectance=0.9), 3)
    0.169
    """
    at_least_zero("power_W", power_W, "W")
    above_zero("limit_W_m2", limit_W_m2, "W/m2")
    within("reflectance", reflectance, 0.0, 1.0, "")
    within("angle_deg", angle_deg, 0.0, 90.0, "deg")
    towards_W = reflectance * power_W * math.cos(math.radians(angle_deg))
    return math.sqrt(towards_W / (math.pi * limit_W_m2))
