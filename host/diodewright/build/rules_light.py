"""Contradictions about temperatures, the diode's curves and what a laser needs."""

from diodewright.build.keys import Points
from diodewright.build.points import fit_forward, fit_light, slope_limit_W_A
from diodewright.build.rule import Rule, at_most, below, order

__all__ = ["BEAM", "CURVES", "LASER", "TEMPERATURES"]

_LOOK = "look at the data sheet's curve again"
_LEAST_K = 10

TEMPERATURES: tuple[Rule, ...] = (
    order(
        "ambient_low",
        "heat.ambient_min_degC",
        "heat.ambient_degC",
        "the coldest air is warmer than the usual",
        equal=True,
    ),
    order(
        "ambient_high",
        "heat.ambient_degC",
        "heat.ambient_max_degC",
        "the usual air is warmer than the warmest",
        equal=True,
    ),
    order(
        "ambient_cool",
        "heat.ambient_max_degC",
        "limits.mount_warm_degC",
        "in the warmest air cutback would never end",
    ),
    order(
        "touch",
        "heat.ambient_max_degC",
        "heat.sink_touch_max_degC",
        "the warmest air alone makes the sink too hot to touch",
    ),
    order(
        "warm_hot",
        "limits.mount_warm_degC",
        "limits.mount_hot_degC",
        "cutback must begin below where it ends",
    ),
    order(
        "hot_trip",
        "limits.mount_hot_degC",
        "limits.mount_trip_degC",
        "cutback must end below the trip",
    ),
    order(
        "junction_trip",
        "diode.junction_at_trip_degC",
        "diode.junction_max_degC",
        "at this trip the junction may reach {0:.0f} degC (highest level and voltage, all heat)",
    ),
)


def _laser_needs(rule: str, key: str, why: str) -> Rule:
    return Rule(
        rule,
        (key, "diode.kind"),
        lambda value, kind: kind != "laser_diode" or value > 0,
        f"a laser diode needs it: {why}",
        "give it one and say so",
    )


LASER: tuple[Rule, ...] = (
    _laser_needs("laser_key", "controls.key", "nobody else may light it"),
    _laser_needs("laser_interlock", "controls.interlock", "an opened cover must make it dark"),
    _laser_needs("laser_indicator", "controls.indicator", "people must see that it may emit"),
    Rule(
        "laser_trigger",
        ("controls.trigger", "diode.kind"),
        lambda trigger, kind: kind != "laser_diode" or trigger == "momentary",
        "a laser that nobody holds does not go dark",
        'write trigger = "momentary"',
    ),
    _laser_needs("laser_delay", "limits.delay_s", "the indicator comes before the light"),
)


BEAM: tuple[Rule, ...] = (
    Rule(
        "focus_beyond",
        ("enclosure.focus_mm", "enclosure.lens_focal_mm"),
        lambda focus, focal: focus == 0 or (below(0, focal) and below(focal, focus)),
        "no lens of {1:g} mm has its focus there",
        "give lens_focal_mm, and a focus beyond it; or write focus_mm = 0",
    ),
    Rule(
        "led_seen",
        ("diode.wavelength_nm", "diode.kind"),
        lambda nm, kind: kind != "led" or at_most(nm, 700),
        "an LED of unseen light is not supported yet",
        "give a peak of 400 to 700 nm",
    ),
)


def _forward_fits(points: Points) -> bool:
    fit_forward(points)
    return True


def _light_fits(points: Points, kind: str) -> bool:
    fit_light(points, laser=kind == "laser_diode")
    return True


def _light_below_power(light: Points, forward: Points) -> bool:
    fit = fit_forward(forward)
    return all(light_W <= at_A * fit.voltage_V(at_A) for at_A, light_W in light if at_A > 0)


def _slope_possible(points: Points, wavelength_nm: float, kind: str) -> bool:
    if kind != "laser_diode":
        return True
    return fit_light(points).slope_W_A <= slope_limit_W_A(wavelength_nm)


CURVES: tuple[Rule, ...] = (
    Rule(
        "white_pump",
        ("diode.wavelength_nm", "diode.spectrum"),
        lambda nm, spectrum: spectrum != "white" or 440 <= nm <= 460,
        "the blue of a white LED lies from 440 to 460 nm",
        'give the peak of its blue, or spectrum = "narrow" with its width',
    ),
    Rule("forward_fit", ("diode.forward_points_A_V",), _forward_fits, "", _LOOK),
    Rule("light_fit", ("diode.light_points_A_W", "diode.kind"), _light_fits, "", _LOOK),
    Rule(
        "forward_reach",
        ("diode.forward_points_A_V", "diode.forward_end_A", "levels.highest_A"),
        lambda _, end, highest: at_most(highest, end),
        "the points end at {1:g} A, below the highest level ({2:g} A)",
        "add a point at or above it",
    ),
    Rule(
        "light_reach",
        ("diode.light_points_A_W", "diode.light_end_A", "levels.highest_A"),
        lambda _, end, highest: at_most(highest, end),
        "the points end at {1:g} A, below the highest level ({2:g} A)",
        "add a point at or above it",
    ),
    Rule(
        "light_power",
        ("diode.light_points_A_W", "diode.forward_points_A_V"),
        _light_below_power,
        "more light than electrical power",
        "look at the units: current in A, light in W",
    ),
    Rule(
        "slope_quantum",
        ("diode.light_points_A_W", "diode.wavelength_nm", "diode.kind"),
        _slope_possible,
        "light rises faster than one photon an electron at {1:g} nm",
        "look at the units and the wavelength",
    ),
    Rule(
        "T0_zero",
        ("diode.threshold_T0_K",),
        lambda t0: abs(t0) >= _LEAST_K,
        "within 10 K of 0: the threshold would grow without bounds",
        "read it off the data sheet; typically 60 to 200 K",
    ),
    Rule(
        "T1_zero",
        ("diode.slope_T1_K",),
        lambda t1: abs(t1) >= _LEAST_K,
        "within 10 K of 0: the light would grow or fall without bounds",
        "read it off the data sheet; typically 150 to 400 K",
    ),
)
