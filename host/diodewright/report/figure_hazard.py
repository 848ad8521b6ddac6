"""The figure of a hazard: how far it reaches against the beam's spread, and how strong it is there.

A laser's: hazard distance against divergence, and irradiance along the beam against the limits of
the eye. An LED's: the distance at which it falls to RG1 against the beam's angle, and its
blue-weighted irradiance against the small-source limits. The build itself is a ring on the line.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Literal

import msgspec
import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import FuncFormatter

from diodewright.hazard.irradiance import irradiance_W_m2, pupil_irradiance_W_m2
from diodewright.hazard.led_distance import SMALL_W_M2, falls_to_m, on_axis_W_sr
from diodewright.rehearse.hazard_laser import LaserHazard
from diodewright.rehearse.hazard_led import LedHazard
from diodewright.rehearse.hazard_reach import reach_over_spread
from diodewright.report.drawing import COLOURS, Line, Values, curves, svg
from diodewright.report.shape import Document
from diodewright.report.wording import number

__all__ = ["hazard_figure", "reach_figure"]

Side = Literal["left", "right"]
_HEIGHTS = (2.5, 2.7)
#: Points of a line.
_POINTS = 121
_NEAREST_M, _LED_NEAREST_M = 0.01, 0.1
#: Where along the axis the names of limits begin, or end.
_NAMES_AT = {"left": 0.015, "right": 0.985}
_RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


def hazard_figure(of: LaserHazard | LedHazard, emitter_mm2: float) -> str:
    """Return the figure as SVG text; `emitter_mm2` is an LED's glowing area [mm2]."""
    if isinstance(of, LaserHazard):
        beam = of.worst_beam.beam
        draw = (lambda axes: _laser_reach(axes, of), lambda axes: _laser_along(axes, of))
        of_axes = "both axes' geometric mean" if beam.wide_mrad != beam.high_mrad else "both axes"
        labels = (
            f"full divergence at 1/e, {of_axes} [mrad]",
            "distance from where the beam leaves the optics [m]",
        )
        return svg("hazard", _HEIGHTS, draw, labels, paper="white")
    led = (
        lambda axes: _led_reach(axes, of, emitter_mm2),
        lambda axes: _led_along(axes, of),
    )
    labels = ("full angle at half the intensity [°]", "distance on the axis [m]")
    return svg("hazard", _HEIGHTS, led, labels, paper="white")


def _tick(value: float, _: object) -> str:
    """Return a power of ten as people write it: whole up to 10 000, then 10 with its power."""
    power = round(math.log10(value))
    return f"{value:g}" if -4 <= power <= 4 else "10" + str(power).translate(_RAISED)


def _logarithmic(axes: Axes, lines: Iterable[Line]) -> None:
    """Make both axes logarithmic; up and down only where some line is above 0."""
    axes.set_xscale("log")
    axes.xaxis.set_major_formatter(FuncFormatter(_tick))
    if any(np.any(line.values > 0) for line in lines):
        axes.set_yscale("log")
        axes.yaxis.set_major_formatter(FuncFormatter(_tick))


def _ring(
    axes: Axes, x: float, y: float, name: str, side: Side = "left", above_pt: float = 9
) -> None:
    """Mark the build itself with a ring and its name, which begins or ends beside it."""
    if y <= 0:
        return  # below the limit at its exit: there is no such point
    axes.plot([x], [y], "o", ms=10, mfc="none", mec=COLOURS["ink"], mew=1.8)
    axes.annotate(
        name,
        (x, y),
        xytext=(7 if side == "left" else -9, above_pt),
        textcoords="offset points",
        ha=side,
        fontsize=8.5,
    )


def _levels(axes: Axes, named: Iterable[tuple[float, str]], unit: str, side: Side) -> None:
    """Draw horizontal limits, each once, with all that it is the limit of."""
    names: dict[float, list[str]] = {}
    for level, name in named:
        names.setdefault(float(f"{level:.3g}"), []).append(name)

    def above(level: float) -> bool:
        return side == "right" or level == max(names)

    for level, said in names.items():
        axes.axhline(level, color=COLOURS["ink"], linewidth=0.9, linestyle=(0, (1, 2)))
        axes.annotate(
            f"{', '.join(said)}: {number(level)} {unit}",
            (_NAMES_AT[side], level),
            xycoords=("axes fraction", "data"),
            # at the left only the highest stands on its line: close limits would strike it out
            xytext=(0, 2 if above(level) else -2),
            textcoords="offset points",
            ha=side,
            va="bottom" if above(level) else "top",
            fontsize=8.5,
        )


def _laser_reach(axes: Axes, of: LaserHazard) -> None:
    said = f"this build, {of.worst_beam.name} beam: {number(of.reach('direct').distance_m)} m"
    _reach(axes, reach_over_spread(of), said)


def reach_figure(document: Document) -> str | None:
    """Return hazard distance against divergence, from the document; None where it has none."""
    reach = document.hazard.reach
    if reach is None:
        return None
    columns = msgspec.structs.asdict(reach)
    said = f"this build: {number(reach.here_m)} m"
    label = "full divergence at 1/e, both axes' geometric mean [mrad]"
    return svg("reach", (_HEIGHTS[0],), (lambda axes: _reach(axes, columns, said),), label)


def _reach(axes: Axes, columns: Mapping[str, Any], said: str) -> None:
    spread = np.asarray(columns["spread_mrad"])
    lines = [
        Line(np.asarray(columns["binoculars_m"]), "through binoculars", "plum", "law"),
        Line(np.asarray(columns["hit_m"]), "a hit, unnoticed", "red", "sensed"),
        Line(np.asarray(columns["glance_m"]), "a chance look", "blue"),
    ]
    _logarithmic(axes, lines)
    curves(axes, spread, lines, "hazard distance [m]")
    _ring(axes, columns["here_mrad"], columns["here_m"], said, "right", -14)


def _metres(from_m: float, to_m: float) -> Values:
    return np.logspace(math.log10(from_m), math.log10(max(to_m, 10 * from_m)), 2 * _POINTS)


def _laser_along(axes: Axes, of: LaserHazard) -> None:
    beam, far_m = of.worst_beam.beam, 4 * max(each.distance_m for each in of.reaches[:2])
    at_m = _metres(_NEAREST_M, far_m)

    def along(found: object, power_W: float = of.watts_W) -> Values:
        assert callable(found)
        return np.array([found(power_W, beam, float(each)) for each in at_m])

    lines = [
        Line(along(irradiance_W_m2), "in the middle of the beam", "red", "sensed"),
        Line(along(pupil_irradiance_W_m2), "mean over a 7 mm pupil", "blue"),
    ]
    _logarithmic(axes, lines)
    curves(axes, at_m, lines, "irradiance [W/m²]")
    limits = [(row.eye.irradiance_W_m2, f"{number(row.time_s, 5)} s") for row in of.far]
    _levels(axes, [(level, name) for level, name in limits], "W/m²", "left")
    direct = of.reach("direct")
    _ring(axes, direct.distance_m, direct.limit_W_m2, f"{number(direct.distance_m)} m")


def _led_reach(axes: Axes, of: LedHazard, emitter_mm2: float) -> None:
    angles = np.linspace(5.0, 150.0, _POINTS)

    def reached(group: str, power_W: float) -> Values:
        found = [
            falls_to_m(group, power_W, emitter_mm2, of.risk.weighting, float(deg)) for deg in angles
        ]
        return np.array(found)

    lines = [
        Line(reached("RG1", of.watts_W), "to RG1 and exempt, one fault", "blue"),
        Line(reached("RG2", of.watts_W), "to RG2", "red", "sensed"),
    ]
    curves(axes, angles, lines, "falls from there on [m]")
    axes.set_ylim(bottom=0)
    name = f"this build: {number(of.falls_to['RG1'])} m"
    _ring(axes, of.beam_deg, of.falls_to["RG1"], name, "right", 12)


def _led_along(axes: Axes, of: LedHazard) -> None:
    at_m = _metres(_LED_NEAREST_M, 4 * of.falls_to["RG1"])
    blue_W_m2 = of.risk.weighting * on_axis_W_sr(of.watts_W, of.beam_deg) / at_m**2
    said = "blue-weighted, on the axis; limits: of a source below 11 mrad"
    lines = [Line(blue_W_m2, said, "blue")]
    _logarithmic(axes, lines)
    curves(axes, at_m, lines, "irradiance [W/m²]")
    named: Sequence[tuple[float, str]] = [(SMALL_W_M2[group], group) for group in SMALL_W_M2]
    _levels(axes, named, "W/m²", "right")
