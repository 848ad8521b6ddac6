"""The spectrum of a build's LED."""

from diodewright.build import Build
from diodewright.hazard.spectrum import Band
from diodewright.hazard.white import white_bands

__all__ = ["led_bands"]


def led_bands(build: Build) -> tuple[Band, ...]:
    """Return the bands of the build's LED; its limits are those of `hazard.white` and `spectrum`.

    Raises
    ------
    ValueError
        The build's light is not an LED: it states no spectrum.
    """
    part = build.diode
    if part.spectrum == "white":
        return white_bands(part.wavelength_nm, part.colour_temperature_K)
    return (Band(1.0, part.wavelength_nm, part.fwhm_nm),)
