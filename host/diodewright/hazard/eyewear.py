"""What laser eyewear must stand: optical density and scale number, rounded up.

Equations. ``OD = log10(H0 / limit)`` with H0 over the beam or a 7 mm pupil, whichever is wider.
EN 207, mode D (continuous), above 315 to 1400 nm: LBn stands ``10^(n + 1) W/m2`` over the true beam
and has an OD of n or more, so ``n >= log10(P / area) - 1``, rounded up.

Source. OD: IEC TR 60825-14, second-hand. EN 207:2017 (replaced by ISO 19818-1:2021): read in public
copies of its table; the paid standard was not read in full. Published check: "50 W, 5 mm: L6" in a
UK laser-safety e-book. Times: 5 or 10 s are typical for choosing eyewear, 30 000 s is a working day
(German technical rules TROS Laserstrahlung, part 2, section 4.1).

Limits of validity. 400 to 1050 nm, continuous. The scale is tested with 1 mm beams for 5 s; for
other widths EN 207 has a factor that depends on filter and frame (DGUV Information 203-042,
section 5.2), which only the supplier knows. So `Eyewear.supplier_must_confirm` is always true.
Alignment eyewear (EN 208) is not covered.

Caution. Eyewear is the last line, for a hit by accident. It is not for looking into the beam.
"""

import math
from dataclasses import dataclass

from diodewright.hazard.exposure import PUPIL_MM, exposure_limit
from diodewright.hazard.inputs import above_zero, within

__all__ = ["Eyewear", "choose_eyewear", "optical_density", "scale_number"]

_HIGHEST_SCALE = 10


@dataclass(frozen=True)
class Eyewear:
    """What to ask a supplier for.

    Attributes
    ----------
    wavelength_nm : the filter must be marked for this wavelength [nm].
    time_s : exposure that it is for [s].
    optical_density : exact need [1]; 0 where the beam is below the limit.
    optical_density_at_least : the same rounded up to a whole number.
    scale_number : n of LBn, the higher of what the beam's irradiance and the optical density ask.
    marking : as EN 207 writes it, such as "D 450 LB6".
    supplier_must_confirm : always true.
    confirm : what the supplier must confirm.
    """

    wavelength_nm: float
    time_s: float
    optical_density: float
    optical_density_at_least: int
    scale_number: int
    marking: str
    supplier_must_confirm: bool
    confirm: tuple[str, ...]


def _irradiance_W_m2(power_W: float, width_mm: float) -> float:
    return power_W / (math.pi / 4 * (width_mm * 1e-3) ** 2)


def optical_density(power_W: float, limit_W_m2: float, beam_mm: float) -> float:
    """Return the optical density that brings a beam down to the exposure limit, not rounded.

    Parameters
    ----------
    power_W : highest power that a single fault can give [W], above 0.
    limit_W_m2 : exposure limit of the eye [W/m2], above 0.
    beam_mm : full width at 1/e where it can reach an eye [mm], 0.01 to 1000.

    Returns
    -------
    Optical density [1]; 0 where the beam is below the limit.

    Raises
    ------
    ValueError
        Where a value is impossible or outside its range.

    Examples
    --------
    >>> round(optical_density(1.6, 25.46, 2.0), 2)
    3.21
    """
    above_zero("power_W", power_W, "W")
    above_zero("limit_W_m2", limit_W_m2, "W/m2")
    within("beam_mm", beam_mm, 0.01, 1000.0, "mm")
    irradiance_W_m2 = _irradiance_W_m2(power_W, max(beam_mm, PUPIL_MM))
    return max(0.0, math.log10(irradiance_W_m2 / limit_W_m2))


def scale_number(power_W: float, beam_mm: float) -> int:
    """Return n of the LBn that stands the beam (EN 207, mode D, above 315 to 1400 nm).

    Parameters
    ----------
    power_W : highest power that a single fault can give [W], above 0.
    beam_mm : full width at 1/e where it can hit the eyewear [mm], 0.01 to 1000.

    Returns
    -------
    1 to 10, rounded up.

    Raises
    ------
    ValueError
        Where a value is impossible, and where even LB10 would not stand the beam.

    Examples
    --------
    >>> scale_number(1.6, 1.0)
    6
    """
    above_zero("power_W", power_W, "W")
    within("beam_mm", beam_mm, 0.01, 1000.0, "mm")
    irradiance_W_m2 = _irradiance_W_m2(power_W, beam_mm)
    number = max(1, math.ceil(math.log10(irradiance_W_m2) - 1))
    if number > _HIGHEST_SCALE:
        raise ValueError(
            f"power_W = {power_W:g} W in beam_mm = {beam_mm:g} mm: {irradiance_W_m2:.3g} W/m2 is "
            f"above 1e+11 W/m2, the most that LB{_HIGHEST_SCALE} stands"
        )
    return number


def choose_eyewear(power_W: float, wavelength_nm: float, beam_mm: float, time_s: float) -> Eyewear:
    """Return what laser eyewear must stand.

    Parameters
    ----------
    power_W : highest power that a single fault can give [W], above 0.
    wavelength_nm : wavelength [nm], 400 to 1050.
    beam_mm : smallest full width at 1/e that can reach a face [mm], 0.01 to 1000.
    time_s : exposure [s]; 10 for a hit by accident, 30 000 where blue or violet light is about
        all day. 0.25 trusts the wearer to turn away.

    Raises
    ------
    ValueError
        Where a value is impossible or outside its range.

    Examples
    --------
    >>> choose_eyewear(1.6, 450, 1.0, 10).marking
    'D 450 LB6'
    >>> choose_eyewear(1.6, 450, 10.0, 30_000).marking
    'D 450 LB5'
    """
    limit = exposure_limit(wavelength_nm, time_s)
    density = optical_density(power_W, limit.irradiance_W_m2, beam_mm)
    whole = math.ceil(density)
    # LBn promises no more than OD n: where a wide beam asks for less than the eye, the eye rules.
    number = max(scale_number(power_W, beam_mm), whole)
    return Eyewear(
        wavelength_nm=wavelength_nm,
        time_s=time_s,
        optical_density=density,
        optical_density_at_least=whole,
        scale_number=number,
        marking=f"D {wavelength_nm:g} LB{number}",
        supplier_must_confirm=True,
        confirm=(
            f"filter and frame stand {power_W:g} W in {beam_mm:g} mm at {wavelength_nm:g} nm",
            "its factor for a beam that is not 1 mm wide is in the scale number",
            f"optical density of at least {whole} at {wavelength_nm:g} nm, new and aged",
            "enough visible light gets through to work by",
        ),
    )
