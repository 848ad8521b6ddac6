"""How strong a beam of two axes is: in its middle, over a pupil, through an aperture.

Equations. In the middle, ``E = P / ((pi / 4) wx wy)`` with the widths at 1/e. Share of an
elliptical Gaussian within a circle of radius R::

    share = mean over phi of 1 - exp(-4 R2 / (wx2 cos2 phi + wy2 sin2 phi))

Source. The Gaussian's own integral, in the angle that makes its ellipse a circle. The 7 mm pupil,
and the conditions of measurement of IEC 60825-1 (7 mm at 100 mm for the bare eye, 50 mm at 2 m for
binoculars), second-hand and from memory: the paid standard was not read in full.

Limits of validity. Those of `beam`; the aperture stands in the middle of the beam, which errs to
the safe side.
"""

import math

import numpy as np

from diodewright.hazard.beam import Beam, widths_mm
from diodewright.hazard.exposure import PUPIL_M2, PUPIL_MM
from diodewright.hazard.inputs import above_zero, at_least_zero

__all__ = [
    "BINOCULARS",
    "EYE",
    "irradiance_W_m2",
    "pupil_irradiance_W_m2",
    "share_through",
]

#: Conditions of measurement: aperture [mm] and distance [m].
EYE = (7.0, 0.1)
BINOCULARS = (50.0, 2.0)

#: phi = arctan(exp(u)): in u a beam of any flatness is as smooth as a round one.
_U = np.linspace(-30.0, 30.0, 1201)
_COS2, _SIN2 = 1 / (1 + np.exp(2 * _U)), 1 / (1 + np.exp(-2 * _U))
_SPREAD = 1 / (np.pi * np.cosh(_U))


def irradiance_W_m2(power_W: float, beam: Beam, distance_m: float) -> float:
    """Return the irradiance in the middle of the beam [W/m2]: power over the area at 1/e.

    ValueError for a power or distance below 0.

    Examples
    --------
    >>> round(irradiance_W_m2(1.0, Beam(1.0, 1.0, 1.0, 1.0), 0.0))
    1273240
    """
    at_least_zero("power_W", power_W, "W")
    wide_mm, high_mm = widths_mm(beam, distance_m)
    return power_W / (math.pi / 4 * wide_mm * high_mm * 1e-6)


def share_through(beam: Beam, distance_m: float, aperture_mm: float) -> float:
    """Return the share of the power that a round aperture in the middle of the beam lets through.

    Parameters
    ----------
    beam : of two axes.
    distance_m : from where it leaves the optics [m].
    aperture_mm : diameter [mm], above 0.

    Raises
    ------
    ValueError
        Where a value is impossible.

    Examples
    --------
    >>> round(share_through(Beam(7.0, 7.0, 1.0, 1.0), 0.0, 7.0), 4)
    0.6321
    """
    above_zero("aperture_mm", aperture_mm, "mm")
    wide_mm, high_mm = widths_mm(beam, distance_m)
    across_mm2 = wide_mm**2 * _COS2 + high_mm**2 * _SIN2
    kept = -np.expm1(-(aperture_mm**2) / across_mm2)
    return float(np.trapezoid(kept * _SPREAD, _U))


def pupil_irradiance_W_m2(power_W: float, beam: Beam, distance_m: float) -> float:
    """Return the irradiance [W/m2] as a mean over a 7 mm pupil in the middle of the beam.

    This is what an eye's limit is compared with. ValueError for a power or distance below 0.

    Examples
    --------
    >>> round(pupil_irradiance_W_m2(1e-3, Beam(0.1, 0.1, 1.0, 1.0), 0.0), 2)
    25.98
    """
    at_least_zero("power_W", power_W, "W")
    return power_W * share_through(beam, distance_m, PUPIL_MM) / PUPIL_M2
