"""How far a beam of two axes is a hazard: direct, through optics, and from a glossy target.

Equations. Direct: the distance r behind the waist where the area at 1/e brings the irradiance down
to the limit E, a quadratic equation::

    G P = E (pi / 4) (ax + phix r) (ay + phiy r)

From a target that throws back a share s as a mirror and a share d like matt white::

    E = s P / ((pi / 4) (ax + phix r) (ay + phiy r)) + d P / (pi r2)

Source. IEC TR 60825-14 and ANSI Z136.1 appendix B, second-hand and from memory; the paid documents
were not read in full. A published check stands in `distance`. The gain of optics, at most 50, from
memory. Glass throws back 4 % at each face (Fresnel's equations, index 1.5).

Limits of validity. Those of `beam`; clear air; a flat target at right angles. A curved mirror may
focus, and a polished metal is a whole mirror: that is the beam itself. The way from the source to
the target is not counted, which errs to the long side.
"""

import math

from diodewright.hazard.beam import Beam
from diodewright.hazard.inputs import above_zero, at_least_zero, within

__all__ = ["beam_distance_m", "reflected_distance_m"]

#: Rounds of halving: far below a millimetre in a kilometre.
_ROUNDS = 100


def beam_distance_m(power_W: float, limit_W_m2: float, beam: Beam, gain: float = 1.0) -> float:
    """Return the nominal ocular hazard distance from where the beam leaves the optics [m].

    Parameters
    ----------
    power_W : optical power; for a label the highest that a single fault can give [W].
    limit_W_m2 : exposure limit of the eye [W/m2], see `exposure.exposure_limit`.
    beam : of two axes; behind a focus the distance counts from the exit as well.
    gain : what viewing optics add to the irradiance [1], 1 (bare eye) to 50.

    Returns
    -------
    Distance [m]; 0 where the beam is below the limit at its waist.

    Raises
    ------
    ValueError
        Where a value is impossible or outside its range.

    Examples
    --------
    >>> round(beam_distance_m(1.0, 25.46, Beam(0.0, 0.0, 1.0, 1.0)), 1)
    223.6
    >>> round(beam_distance_m(1.0, 25.46, Beam(0.0, 0.0, 1.0, 4.0)), 1)
    111.8
    """
    at_least_zero("power_W", power_W, "W")
    above_zero("limit_W_m2", limit_W_m2, "W/m2")
    within("gain", gain, 1.0, 50.0, "")
    above_zero("wide_mrad", beam.wide_mrad, "mrad")
    above_zero("high_mrad", beam.high_mrad, "mrad")
    square = beam.wide_mrad * beam.high_mrad
    linear = beam.wide_mm * beam.high_mrad + beam.high_mm * beam.wide_mrad
    # in mm2, as mm / m is mrad
    missing = beam.wide_mm * beam.high_mm - 1e6 * 4 * gain * power_W / (math.pi * limit_W_m2)
    if missing >= 0:
        return 0.0
    root = math.sqrt(linear * linear - 4 * square * missing)
    return beam.waist_m - 2 * missing / (linear + root)


def reflected_distance_m(
    power_W: float, limit_W_m2: float, beam: Beam, mirrored: float, diffuse: float
) -> float:
    """Return from how far a glossy target's reflection is below the limit [m].

    Parameters
    ----------
    power_W : optical power on the target [W].
    limit_W_m2 : exposure limit of the eye [W/m2].
    beam : of two axes; its waist is taken to be on the target.
    mirrored : share that the target throws back as a mirror [1]; glass 0.08 with both faces.
    diffuse : share that it throws back like matt white [1]; both together at most 1.

    Returns
    -------
    Distance from the target [m], in the direction of the mirrored beam.

    Raises
    ------
    ValueError
        Where a value is impossible or outside its range.

    Examples
    --------
    >>> beam = Beam(1.414, 1.414, 7.07, 7.07)
    >>> round(reflected_distance_m(1.5, 25.46, beam, 0.08, 0.0), 1)
    10.8
    """
    within("mirrored", mirrored, 0.0, 1.0, "")
    within("diffuse", diffuse, 0.0, 1.0, "")
    within("mirrored + diffuse", mirrored + diffuse, 0.0, 1.0, "")
    at_target = Beam(beam.wide_mm, beam.high_mm, beam.wide_mrad, beam.high_mrad)
    ray_m = beam_distance_m(mirrored * power_W, limit_W_m2, at_target)
    spot_m = math.sqrt(diffuse * power_W / (math.pi * limit_W_m2))

    def above(at_m: float) -> bool:
        wide_mm = beam.wide_mm + beam.wide_mrad * at_m
        high_mm = beam.high_mm + beam.high_mrad * at_m
        ray_W_m2 = mirrored * power_W / (math.pi / 4 * wide_mm * high_mm * 1e-6)
        return ray_W_m2 + diffuse * power_W / (math.pi * at_m * at_m) > limit_W_m2

    low, high = max(ray_m, spot_m), max(ray_m, spot_m)
    while high > 0 and above(high):
        high *= 2
    for _ in range(_ROUNDS):
        middle = (low + high) / 2
        low, high = (middle, high) if middle > 0 and above(middle) else (low, middle)
    return high
