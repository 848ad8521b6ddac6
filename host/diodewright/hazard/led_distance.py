"""From how far an LED's blue light is no more than a lower risk group allows.

Equations. Intensity on the axis of a lamp whose light falls as a power m of the cosine::

    I = P (m + 1) / (2 pi),  m = ln(1/2) / ln(cos(beam angle / 2));  m = 1 is Lambert's law

The group is met from where the weighted irradiance ``B I / r2`` is at the small-source limit and
the source itself is below 11 mrad::

    r = max(sqrt(B I / E), width / 0.011)

Source. Small-source limits of IEC 62471:2006, 1 W/m2 for exempt and RG1, 400 W/m2 for RG2, and
their 11 mrad, from memory; the paid standard was not read in full. Cross-check: the limit of RG1,
1e4 W/(m2 sr), over a field of view of 11 mrad is 0.95 W/m2. The cosine's power: common practice.

Limits of validity. Those of `led_risk`: blue-light hazard only. Far field, nothing between lamp and
eye. A lens shines as a whole: where it is wider than 11 mrad at that distance, 11 mm at 1 m, the
distance is longer.
"""

import math

from diodewright.hazard.inputs import above_zero, at_least_zero, within
from diodewright.hazard.led_risk import GROUP_LIMITS_W_M2_SR, lambert_radiance_W_m2_sr

__all__ = ["SMALL_W_M2", "falls_to_m", "on_axis_W_sr"]

#: Group -> small-source limit of the blue-weighted irradiance [W/m2].
SMALL_W_M2 = {"exempt": 1.0, "RG1": 1.0, "RG2": 400.0}
_SMALL_RAD = 0.011


def on_axis_W_sr(power_W: float, beam_deg: float) -> float:
    """Return the radiant intensity on the axis [W/sr].

    Parameters
    ----------
    power_W : optical power [W].
    beam_deg : full angle at half the intensity [deg], 1 to 150; 120 for a bare chip (Lambert).

    Raises
    ------
    ValueError
        Where a value is impossible or outside its range.

    Examples
    --------
    >>> round(on_axis_W_sr(1.0, 120), 4)
    0.3183
    """
    at_least_zero("power_W", power_W, "W")
    within("beam_deg", beam_deg, 1.0, 150.0, "deg")
    power = math.log(0.5) / math.log(math.cos(math.radians(beam_deg / 2)))
    return power_W * (power + 1) / (2 * math.pi)


def falls_to_m(
    group: str, power_W: float, emitter_mm2: float, weighting: float, beam_deg: float
) -> float:
    """Return from how far the lamp's blue light is within `group` [m]; 0 where it always is.

    Parameters
    ----------
    group : "exempt", "RG1" or "RG2".
    power_W : optical power; for a label that of the worst single fault [W].
    emitter_mm2 : glowing area of chip or phosphor [mm2], above 0.
    weighting : mean blue-light weighting of the spectrum [1], 0 to 1 (`LedRisk.weighting`).
    beam_deg : full angle at half the intensity [deg], 1 to 150.

    Raises
    ------
    ValueError
        For another group, and where a value is impossible or outside its range.

    Examples
    --------
    >>> round(falls_to_m("RG1", 1.0, 1.0, 0.94, 120), 3)
    0.547
    """
    if group not in SMALL_W_M2:
        raise ValueError(f'group = "{group}": not one of {", ".join(SMALL_W_M2)}')
    within("weighting", weighting, 0.0, 1.0, "")
    above_zero("emitter_mm2", emitter_mm2, "mm2")
    on_axis = on_axis_W_sr(power_W, beam_deg)
    if weighting * lambert_radiance_W_m2_sr(power_W, emitter_mm2) <= GROUP_LIMITS_W_M2_SR[group]:
        return 0.0
    across_m = math.sqrt(2 * emitter_mm2) * 1e-3
    return max(math.sqrt(weighting * on_axis / SMALL_W_M2[group]), across_m / _SMALL_RAD)
