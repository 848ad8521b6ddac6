"""Light in watts and as seen: an LED's spectrum integrated, a laser's line taken."""

from diodewright.build import Build
from diodewright.derive.spectrum import led_bands
from diodewright.hazard.inputs import VISIBLE_NM
from diodewright.hazard.photometry import lumens, lumens_bands, lumens_spectrum
from diodewright.size.figure import Figure, share_pct
from diodewright.size.working import Working

__all__ = ["light_lm", "optical"]

#: Width of a usual single-colour LED [nm]; typical, no source.
_LED_NM = 25.0


def light_lm(build: Build, light_W: float) -> float:
    """Return what `light_W` [W] of the build's light looks like [lm]; a dummy gives none.

    Nor does an infrared laser.
    """
    if build.diode.kind == "laser_diode" and build.diode.wavelength_nm <= VISIBLE_NM[1]:
        return lumens(light_W, build.diode.wavelength_nm)
    if build.diode.kind == "led":
        return lumens_bands(light_W, led_bands(build))
    return 0.0


def _off_pct(other_lm: float, seen_lm: float) -> str:
    return f"{100 * (other_lm / seen_lm - 1):+.0f} %" if seen_lm else ""


def _led_lumens(build: Build, light_W: float) -> Figure:
    """Return an LED's lumens, with what a single line at its peak would be off by."""
    seen_lm = light_lm(build, light_W)
    off = _off_pct(lumens(light_W, build.diode.wavelength_nm), seen_lm)
    model = (
        "phosphor modelled from the colour temperature, up to 10 % too high; "
        if build.diode.spectrum == "white"
        else "Gaussian spectrum; "
    )
    return Figure(
        "light_lm",
        seen_lm,
        "lm",
        f"the same as seen; {build.diode.spectrum} spectrum integrated",
        f"{model}a single line would be {off}; says nothing about the hazard",
    )


def _laser_lumens(build: Build, light_W: float) -> Figure:
    """Return a laser's lumens, with what an LED's spectrum at its line would be off by."""
    seen_lm = light_lm(build, light_W)
    wide_lm = lumens_spectrum(light_W, build.diode.wavelength_nm, _LED_NM)
    off = f"an LED's {_LED_NM:g} nm of width would be {_off_pct(wide_lm, seen_lm)}"
    return Figure(
        "light_lm",
        seen_lm,
        "lm",
        "the same as seen; a single line",
        f"{off}; says nothing about the hazard",
    )


def optical(build: Build, cool: Working) -> list[Figure]:
    """Return the figures of the light; `cool` is the full pack on a mount at ambient."""
    kind = build.diode.kind
    rows = [Figure("light_W", cool.light_W, "W", "mount at ambient", "kinks, ageing")]
    if kind == "laser_diode" and build.diode.wavelength_nm <= VISIBLE_NM[1]:
        rows.append(_laser_lumens(build, cool.light_W))
    if kind == "led":
        rows.append(_led_lumens(build, cool.light_W))
    of_diode_pct = share_pct(cool.light_W, cool.electrical_W)
    rows.append(Figure("light_share_pct", of_diode_pct, "%", "of the diode's electrical power"))
    if kind != "dummy_string":
        of_all_pct = share_pct(cool.light_W, cool.drawn_W)
        rows.append(Figure("wall_plug_pct", of_all_pct, "%", "of all that the pack gives"))
    return rows
