"""Sections of the build file about the diode, its heat and what its light can reach."""

from dataclasses import dataclass

from diodewright.build.keys import PRACTICE, TYPICAL, When, choice, flag, number, part, points

__all__ = ["Diode", "Enclosure", "Heat"]

_LASER: When = ("diode.kind", ("laser_diode",))
_LED: When = ("diode.kind", ("led",))
_NARROW: When = ("diode.spectrum", ("narrow",))
_WHITE: When = ("diode.spectrum", ("white",))
_LIT: When = ("diode.kind", ("laser_diode", "led"))


@dataclass(frozen=True, kw_only=True)
class Diode:
    """The light source, or the dummy that stands in for it at bring-up."""

    part: str | None = part("class of the catalogue that fills what is not given")
    kind: str = choice(("laser_diode", "led", "dummy_string"), "what is driven")
    wavelength_nm: float = number(
        400,
        1050,
        "peak wavelength; of a white LED that of its blue; from 700 nm on, unseen, of a laser",
        when=_LIT,
    )
    spectrum: str | None = choice(
        ("narrow", "white"), "narrow: one peak; white: a blue chip under phosphor", when=_LED
    )
    fwhm_nm: float = number(1, 100, "width of the peak at half its height", when=_NARROW)
    colour_temperature_K: float = number(
        2500, 7000, "correlated colour temperature, from the data sheet", when=_WHITE
    )
    emitter_mm2: float = number(
        0.01,
        10000,
        "glowing area of all chips or their phosphor, without gaps, not of dome, lens or diffuser; "
        "in doubt the smaller",
        when=_LED,
    )
    forward_points_A_V: tuple[tuple[float, float], ...] = points(
        (0.0001, 20), (0.1, 20), "current and forward voltage at 25 degC, from the data sheet"
    )
    forward_spread_V: float = number(0, 5, "forward voltage of a part, above or below the points")
    forward_tempco_mV_K: float = number(
        -50,
        5,
        "forward voltage per kelvin of junction temperature",
        default=-3.0,
        source="gallium nitride -2 to -4 mV/K, from memory; typical, no source",
    )
    light_points_A_W: tuple[tuple[float, float], ...] = points(
        (0, 20), (0, 50), "current and light at a 25 degC junction", strict=False, when=_LIT
    )
    threshold_T0_K: float = number(
        -1000000,
        1000000,
        "laser threshold grows by e over this; either sign, far from 0",
        default=80.0,
        source="cautious: red 60 to 100 K, gallium nitride about 170 K; typical, no source",
        when=_LASER,
    )
    slope_T1_K: float = number(
        -1000000,
        1000000,
        "slope falls by e over this; either sign, far from 0",
        default=200.0,
        source="red 150 to 300 K, from memory; typical, no source",
        when=_LIT,
    )
    rated_A: float = number(0.001, 20, "highest current its maker rates it for in use")
    absolute_A: float = number(0.001, 20, "absolute maximum, ripple and overshoot included")
    junction_max_degC: float = number(40, 250, "highest junction temperature")
    case: str = choice(("isolated", "anode", "cathode"), "what the case is connected to")
    reverse_max_V: float = number(
        0,
        20,
        "largest reverse voltage",
        default=2.0,
        source="a maker's data sheet of a blue laser diode; most LEDs stand 5 V",
    )
    reverse_clamp_V: float = number(
        0.1,
        100,
        "forward voltage at 1 A of the reverse diode across it; where there is none, 100",
        default=1.0,
        source="a small silicon or Schottky rectifier; typical, no source",
    )
    exceed_rating: bool = flag("true: a level may exceed rated_A (never absolute_A)", default=False)


@dataclass(frozen=True, kw_only=True)
class Heat:
    """The way of the heat from junction to air."""

    junction_mount_K_W: float = number(0.01, 500, "junction to mount, per watt of heat")
    mount_J_K: float = number(0.05, 100000, "heat capacity of the mount with the diode's body")
    mount_pad_K_W: float = number(0, 10000, "insulating pad between mount and sink; 0 without one")
    interface_K_W: float = number(0.05, 10000, "the rest of the way from mount to sink")
    sink_J_K: float = number(0.05, 1000000, "heat capacity of the sink")
    sink_air_K_W: float = number(0.05, 10000, "sink to air")
    mount_insulated: bool = flag("whether the mount is insulated from sink and enclosure")
    ambient_degC: float = number(-40, 80, "air, where figures are given for one temperature")
    ambient_min_degC: float = number(-40, 80, "coldest air it is used in")
    ambient_max_degC: float = number(-40, 80, "warmest air it is used in")
    junction_ms: float = number(
        0.01, 10000, "time constant of the junction's rise", default=20.0, source=TYPICAL
    )
    sink_touch_max_degC: float = number(
        35, 150, "hottest that a hand may find the sink", default=60.0, source=PRACTICE
    )


@dataclass(frozen=True, kw_only=True)
class Enclosure:
    """What stands between the light and people, and the beam where it leaves the optics."""

    access: str = choice(
        ("interlocked_box", "open"),
        "interlocked_box: opening it makes it dark; open: people can reach the light",
    )
    beam_mm: float = number(
        0.01, 1000, "full width at 1/e2 of the beam where it leaves the optics", when=_LASER
    )
    divergence_mrad: float = number(
        0.01, 3000, "full divergence at 1/e2 of the beam that leaves the optics", when=_LASER
    )
    source_mrad: float = number(
        1.5,
        100,
        "angle of the light's apparent source, measured at 100 mm; 1.5 for a point",
        default=1.5,
        source="a point, as a bare or collimated diode is: the cautious end",
        when=_LASER,
    )
    emitter_wide_um: float = number(
        0.5,
        1000,
        "laser diode's emitter along the junction",
        default=15.0,
        source="cautious: 15 um and more for half a watt and up, from memory; typical, no source",
        when=_LASER,
    )
    emitter_high_um: float = number(
        0.5, 1000, "the same across the junction", default=1.0, source=TYPICAL, when=_LASER
    )
    bare_wide_deg: float = number(
        0.5,
        60,
        "full divergence at half maximum without any lens, along the junction",
        default=7.0,
        source="a maker's data sheet of a blue laser diode of 1.6 W",
        when=_LASER,
    )
    bare_high_deg: float = number(
        0.5,
        60,
        "the same across the junction",
        default=23.0,
        source="a maker's data sheet of a blue laser diode of 1.6 W",
        when=_LASER,
    )
    lens_focal_mm: float = number(
        0,
        500,
        "focal length of the one lens in front of the diode; 0 where none is stated",
        default=0.0,
        source="not stated: the beam behind a lens is not worked out",
        when=_LASER,
    )
    focus_mm: float = number(
        0,
        100000,
        "from that lens to its focus, if it has one outside; 0 for a collimated beam",
        default=0.0,
        source="not stated: collimated",
        when=_LASER,
    )
    beam_deg: float = number(
        5,
        150,
        "full angle at half the intensity, with lens and reflector",
        default=120.0,
        source="a bare LED, by Lambert's law",
        when=_LED,
    )
