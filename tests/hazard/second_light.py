"""Photometry and the blue-light group of LEDs once more, a part of `second_opinion`.

Sources: CIE 1924 V(lambda) as colour-science carries it; IEC 62471:2006; 2006/25/EC annex I.
"""

import math
from functools import cache
from typing import Any, NamedTuple


def within(name: str, value: float, low: float, high: float) -> None:
    """Raise ValueError where `value` is not from `low` to `high`, both taken in; NaN is not."""
    if not low <= value <= high:
        raise ValueError(f"{name} = {value!r}: outside {low:g} to {high:g}")


def not_negative(**values: float) -> None:
    """Raise ValueError for the first value below 0 or not finite."""
    for name, value in values.items():
        within(name, value, 0.0, 1e300)


def positive(**values: float) -> None:
    """Raise ValueError for the first value not above 0 or not finite."""
    for name, value in values.items():
        within(name, value, 1e-300, 1e300)


@cache
def _photopic() -> Any:
    import colour

    return colour.colorimetry.SDS_LEFS_PHOTOPIC["CIE 1924 Photopic Standard Observer"]


def luminous_efficacy_lm_W(wavelength_nm: float) -> float:
    """Return lumens per watt of one wavelength: 683 V(lambda), CIE 1924, from colour-science.

    Choice: 683, not 683.002 (3 ppm), and a straight line within its 1 nm. 360 to 830 nm.
    """
    within("wavelength_nm", wavelength_nm, 360, 830)
    below_nm = min(829, math.floor(wavelength_nm))
    low, high = (float(_photopic()[nm]) for nm in (below_nm, below_nm + 1))
    return 683 * (low + (high - low) * (wavelength_nm - below_nm))


#: IEC 62471 table 4.2 every 5 nm from 400 to 500 nm.
BLUE_FROM_400_nm = (
    *(0.10, 0.20, 0.40, 0.80, 0.90, 0.95, 0.98, 1.0, 1.0, 0.97, 0.94),
    *(0.90, 0.80, 0.70, 0.62, 0.55, 0.45, 0.40, 0.22, 0.16, 0.10),
)
VIEWED_FROM_m = 0.2
SMALL_SOURCE_mrad = 11.0
#: Highest blue radiance [W/m2/sr] and, of a small source, blue irradiance [W/m2] of each group, of
#: IEC 62471:2006 (from memory). The two lowest share an irradiance, so RG1 has no small source.
GROUPS = (("exempt", 100.0, 1.0), ("RG1", 1e4, 1.0), ("RG2", 4e6, 400.0))
RADIANCE_DOSE, IRRADIANCE_DOSE_J_m2 = 1e6, 100.0


def blue_weight(wavelength_nm: float) -> float:
    """Return B(lambda) of the blue-light hazard, 400 to 700 nm (IEC 62471, as luxpy carries it).

    A table to 500 nm, 10^((450 - l)/50) to 600 nm, 0.001 beyond. Choice: straight lines between the
    table's 5 nm, nowhere below the geometric mean that others may take.
    """
    within("wavelength_nm", wavelength_nm, 400, 700)
    if wavelength_nm >= 500:
        return max(0.001, 10 ** ((450 - wavelength_nm) / 50))
    step = int((wavelength_nm - 400) // 5)
    share = (wavelength_nm - 400) / 5 - step
    low, high = BLUE_FROM_400_nm[step : step + 2]
    return low + (high - low) * share


class LedRisk(NamedTuple):
    """A group from "exempt" to "RG3" and the longest exposure [s], by radiance and by irradiance.

    `longest_s` is infinite where the source never reaches a limit. The small source's are None
    from 11 mrad on.
    """

    group: str
    longest_s: float
    blue_radiance_W_m2_sr: float
    alpha_mrad: float
    blue_irradiance_W_m2: float
    small_source_group: str | None
    small_source_longest_s: float | None


def _group(value: float, column: int) -> str:
    return next((str(row[0]) for row in GROUPS if value <= row[column]), "RG3")


def led_risk_group(radiant_W: float, emitter_mm2: float, wavelength_nm: float) -> LedRisk:
    """Return the blue-light risk group of a bare, flat, Lambertian, one-colour chip at 200 mm.

    L = P/(pi A), weighted by B; limits 100, 1e4 and 4e6 W/m2/sr; longest exposure 1e6/L_B s, no
    limit up to 100 W/m2/sr. On the axis E = P/(pi r^2); a source of less than 11 mrad may be judged
    by E_B: 1 W/m2 and 400 W/m2, longest exposure 100/E_B s, no limit up to 1 W/m2. IEC 62471:2006
    and 2006/25/EC annex I (limits from memory).

    Choice: the group is by the chip's true radiance, unaveraged, the harder of the two readings,
    and holds at any distance and behind any optics. IEC 62471 averages over a field of 11 mrad
    (100 mrad for exempt, 1.7 mrad for RG2; from memory), which a chip of 1 mm does not fill at
    200 mm, or takes E_B: that reading stands beside it. Choice: a square chip seen under its side.
    The blue hazard alone: no thermal hazard of the retina, no ultraviolet, no infrared.
    """
    positive(radiant_W=radiant_W, emitter_mm2=emitter_mm2)
    weight = blue_weight(wavelength_nm)
    radiance = weight * radiant_W / (math.pi * emitter_mm2 * 1e-6)
    irradiance = weight * radiant_W / (math.pi * VIEWED_FROM_m**2)
    alpha_mrad = math.sqrt(emitter_mm2) / VIEWED_FROM_m
    is_small = alpha_mrad < SMALL_SOURCE_mrad
    return LedRisk(
        group=_group(radiance, 1),
        longest_s=RADIANCE_DOSE / radiance if radiance > GROUPS[0][1] else math.inf,
        blue_radiance_W_m2_sr=radiance,
        alpha_mrad=alpha_mrad,
        blue_irradiance_W_m2=irradiance,
        small_source_group=_group(irradiance, 2) if is_small else None,
        small_source_longest_s=(
            None
            if not is_small
            else IRRADIANCE_DOSE_J_m2 / irradiance
            if irradiance > GROUPS[0][2]
            else math.inf
        ),
    )
