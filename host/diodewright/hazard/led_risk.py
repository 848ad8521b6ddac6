"""Blue-light risk group of an LED chip (IEC 62471), and how long one may look at it.

Equations. Radiance of a Lambert chip ``L = P / (pi A)``; blue-light radiance ``L_B = L B`` with
the blue-light weighting B over the spectrum; longest look ``t = 1e6 J/(m2 sr) / L_B`` up to
10 000 s.

Source. B: read in luxpy 1.12.5 (380 to 700 nm; ``10^((450 - wavelength) / 50)`` from 500 to 600 nm,
0.001 above); 0.01 from 300 to 380 nm from memory of ICNIRP. Limits of the groups, 100, 1e4 and
4e6 W/(m2 sr) for 10 000, 100 and 0.25 s, and 1e6/t: IEC 62471:2006 and Directive 2006/25/EC
annex I, from memory; the paid standard was not read in full. Retinal thermal: limits
28 000/alpha (10 s) and 71 000/alpha (0.25 s) W/(m2 sr), alpha in rad up to 0.1, its weighting
10 B but at least 1, all from memory of the same.

Limits of validity. The group is that of the blue-light hazard. The retinal thermal one is only
screened: whether it can raise the group. Where RG3 is the question alpha is taken at its widest,
0.1 rad, as if a lens of 20 mm shone all over; below, twice as wide as a square of the area at
200 mm, for gaps and long shapes: red light behind a wide lens may be one group higher.
Ultraviolet and infrared are **not judged**; an LED of one
visible peak gives little of them (common practice, no source). Bands from 400 to 700 nm, evenly
bright emitter; its true radiance is taken. The standard averages over 11 mrad, which lets a bare
chip below 2.2 mm at 200 mm come out lower; a lens takes that relief away (optics cannot raise the
radiance but fill the angle), so it is not used. For a label give the power of the worst single
fault, not the set-point's.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from diodewright.hazard.inputs import above_zero, at_least_zero, visible
from diodewright.hazard.spectrum import Band, band_mean, gaussian_mean

__all__ = [
    "GROUPS",
    "GROUP_LIMITS_W_M2_SR",
    "LedRisk",
    "assess_bands",
    "assess_led",
    "blue_weighting",
    "lambert_radiance_W_m2_sr",
]

GROUPS = ("exempt", "RG1", "RG2", "RG3")

#: Group -> its highest blue-light radiance [W/(m2 sr)].
GROUP_LIMITS_W_M2_SR = dict(zip(GROUPS, (100.0, 1e4, 4e6, math.inf), strict=True))
_DOSE_J_M2_SR = 1e6
_LONGEST_S = 10_000.0

#: Retinal thermal: group that blue light gave -> its limit x alpha [W/(m2 sr) rad], least alpha
#: [rad].
_THERMAL = {
    "exempt": (28_000.0, 0.011),
    "RG1": (28_000.0, 0.011),
    "RG2": (71_000.0, 0.1),
}
_ALPHA_MAX_RAD = 0.1
_AT_MM = 200.0

# fmt: off
#: Wavelength [nm] and B up to 500 nm; beyond, the formula.
_BLUE: tuple[tuple[float, float], ...] = (
    (300, 0.01), (380, 0.01), (385, 0.013), (390, 0.025), (395, 0.05),
    (400, 0.10), (405, 0.20), (410, 0.40), (415, 0.80), (420, 0.90),
    (425, 0.95), (430, 0.98), (435, 1.00), (440, 1.00), (445, 0.97),
    (450, 0.94), (455, 0.90), (460, 0.80), (465, 0.70), (470, 0.62),
    (475, 0.55), (480, 0.45), (485, 0.40), (490, 0.22), (495, 0.16),
)
# fmt: on


def _tabulate() -> tuple[np.ndarray, np.ndarray]:
    """Return wavelengths and B every nanometre from 300 to 700 nm."""
    low_nm, low = zip(*(*_BLUE, (500.0, 0.1)), strict=True)
    at_nm = np.arange(300.0, 701.0)
    middle = np.power(10.0, (450 - at_nm) / 50)
    b = np.where(at_nm < 500, np.interp(at_nm, low_nm, low), np.maximum(middle, 0.001))
    return at_nm, b


_B_NM, _B = _tabulate()


@dataclass(frozen=True)
class LedRisk:
    """The blue-light hazard of one LED.

    Attributes
    ----------
    group : "exempt", "RG1", "RG2" or "RG3".
    blue_radiance_W_m2_sr : radiance weighted with B [W/(m2 sr)].
    weighting : mean of B over the spectrum [1].
    longest_look_s : until the dose of a day is reached [s]; infinite at 100 W/(m2 sr) and below.
    thermal_share : retinal thermal radiance over what would raise the group [1]; 0 in RG3.
    not_judged : hazards that this says nothing about.
    """

    group: str
    blue_radiance_W_m2_sr: float
    weighting: float
    longest_look_s: float
    thermal_share: float
    not_judged: tuple[str, ...] = ("ultraviolet", "infrared")


def blue_weighting(peak_nm: float, fwhm_nm: float = 0.0) -> float:
    """Return the blue-light weighting B [1] of a line or, with a width, of an LED.

    For an LED the mean over its spectrum. Straight lines between tabulated points, which errs to
    the safe side.

    Parameters
    ----------
    peak_nm : wavelength or peak [nm], 400 to 700.
    fwhm_nm : full width at half maximum [nm]; 0 for a line, else 0.1 to 200.

    Raises
    ------
    ValueError
        Where a value is outside its range.

    Examples
    --------
    >>> round(blue_weighting(525), 4), round(blue_weighting(525, 35), 4)
    (0.0316, 0.0424)
    """
    visible("peak_nm", peak_nm)
    if fwhm_nm == 0:
        return float(np.interp(peak_nm, _B_NM, _B))
    return gaussian_mean(_B_NM, _B, peak_nm, fwhm_nm)


def lambert_radiance_W_m2_sr(power_W: float, chip_mm2: float) -> float:
    """Return the radiance of a flat chip that looks equally bright from everywhere.

    Parameters
    ----------
    power_W : optical power [W].
    chip_mm2 : emitting area [mm2], above 0.

    Returns
    -------
    ``power / (pi area)`` [W/(m2 sr)].

    Raises
    ------
    ValueError
        For a power below 0, or an area that is not above 0.

    Examples
    --------
    >>> round(lambert_radiance_W_m2_sr(1.0, 1.0))
    318310
    """
    at_least_zero("power_W", power_W, "W")
    above_zero("chip_mm2", chip_mm2, "mm2")
    return power_W / (math.pi * chip_mm2 * 1e-6)


def assess_led(power_W: float, chip_mm2: float, peak_nm: float, fwhm_nm: float = 0.0) -> LedRisk:
    """Return the blue-light risk group of an LED.

    Parameters
    ----------
    power_W : optical power; for a label that of the worst single fault [W].
    chip_mm2 : emitting area of the bare chip, not of its lens [mm2], above 0.
    peak_nm : peak wavelength [nm], 400 to 700; the blue peak of a white LED.
    fwhm_nm : full width at half maximum [nm]; 0 for a line, else 0.1 to 200. From about 465 nm up
        a width raises the risk: give it wherever it is known.

    Raises
    ------
    ValueError
        Where a value is impossible or outside its range.

    Examples
    --------
    >>> risk = assess_led(1.0, 1.0, 450)
    >>> risk.group, round(risk.longest_look_s, 2)
    ('RG2', 3.34)
    """
    if fwhm_nm == 0:
        weighting = blue_weighting(peak_nm)
        return _assessed(power_W, chip_mm2, weighting, max(1.0, 10 * weighting))
    return assess_bands(power_W, chip_mm2, (Band(1.0, peak_nm, fwhm_nm),))


def assess_bands(power_W: float, emitter_mm2: float, bands: Sequence[Band]) -> LedRisk:
    """Return the blue-light risk group of a spectrum of bands, such as a white LED's.

    Parameters
    ----------
    power_W : optical power; for a label that of the worst single fault [W].
    emitter_mm2 : glowing area of chip or phosphor, not of its lens [mm2], above 0.
    bands : of the spectrum (`white.white_bands`).

    Raises
    ------
    ValueError
        Where a value is impossible or outside its range.

    Examples
    --------
    >>> assess_bands(1.0, 1.0, (Band(1.0, 525, 35),)).group
    'RG2'
    """
    blue, thermal = (band_mean(_B_NM, weight, bands) for weight in (_B, np.maximum(1.0, 10 * _B)))
    return _assessed(power_W, emitter_mm2, blue, thermal)


def _assessed(power_W: float, emitter_mm2: float, blue: float, thermal: float) -> LedRisk:
    """Return the finding; `blue` and `thermal` are the means of both weightings."""
    radiance_W_m2_sr = lambert_radiance_W_m2_sr(power_W, emitter_mm2)
    blue_W_m2_sr = radiance_W_m2_sr * blue
    # The dose rule and the first group's limit meet at 10 000 s.
    unlimited = blue_W_m2_sr <= _DOSE_J_M2_SR / _LONGEST_S
    group = next(group for group, limit in GROUP_LIMITS_W_M2_SR.items() if blue_W_m2_sr <= limit)
    thermal_share = 0.0
    if group in _THERMAL:
        limit_rad, least_rad = _THERMAL[group]
        wide_rad = 2 * math.sqrt(emitter_mm2) / _AT_MM
        alpha_rad = min(max(wide_rad, least_rad), _ALPHA_MAX_RAD)
        thermal_share = radiance_W_m2_sr * thermal * alpha_rad / limit_rad
    return LedRisk(
        group=group,
        blue_radiance_W_m2_sr=blue_W_m2_sr,
        weighting=blue,
        longest_look_s=math.inf if unlimited else _DOSE_J_M2_SR / blue_W_m2_sr,
        thermal_share=thermal_share,
    )
