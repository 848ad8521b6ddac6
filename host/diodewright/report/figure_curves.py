"""Curves of the size: light and junction over current, and the pack's way down."""

import numpy as np
from matplotlib.axes import Axes

from diodewright.report.drawing import COLOURS, Limit, Line, Values, curves, svg
from diodewright.report.figures import CURRENT, drawn
from diodewright.report.shape import Document
from diodewright.report.wording import quantity

__all__ = ["discharge", "over_current"]


def over_current(document: Document) -> str | None:
    """Return lumens and junction against current; None where the document has no such curve."""
    kept = document.curves.get("over_current")
    chosen_A = next((row.value for row in document.size if row.id == "set_current_A"), None)
    if kept is None or chosen_A is None:
        return None
    of = drawn(kept)
    x = of["current_A"]
    limits = [
        Limit(row.limit, f"junction limit {quantity(row.limit, row.unit)}")
        for row in document.findings
        if row.id == "junction"
    ]

    def light(axes: Axes) -> None:
        lines = [
            Line(of["light_lm"], "mount at ambient", "plum"),
            Line(of["steady_lm"], "heat settled, nothing cut back", "blue", "true", "s"),
        ]
        curves(axes, x, lines, "light [lm]")
        _chosen(axes, x, of["light_lm"], chosen_A, "lm", 6)
        axes.set_ylim(bottom=0)

    def junction(axes: Axes) -> None:
        lines = [
            Line(of["junction_degC"], "mount at ambient", "red"),
            Line(of["steady_junction_degC"], "heat settled, nothing cut back", "blue", "true", "s"),
        ]
        curves(axes, x, lines, "junction [°C]", limits)
        _chosen(axes, x, of["junction_degC"], chosen_A, "degC", -14)

    return svg("over-current", (1.6, 1.6), (light, junction), CURRENT)


def _chosen(axes: Axes, x: Values, y: Values, chosen_A: float, unit: str, above_pt: float) -> None:
    """Mark the highest level of the build on the curve of a mount at ambient, and name it."""
    at = float(np.interp(chosen_A, x, y))
    axes.axvline(chosen_A, color=COLOURS["ink"], linewidth=0.9, linestyle=(0, (1, 2)))
    axes.plot([chosen_A], [at], marker="o", color=COLOURS["ink"], markersize=7, label="_chosen")
    axes.annotate(
        f"highest level {quantity(chosen_A, 'A')}: {quantity(at, unit)}",
        (chosen_A, at),
        xytext=(-8, above_pt),
        textcoords="offset points",
        ha="right",
        fontsize=8.5,
    )


def discharge(document: Document) -> str | None:
    """Return the pack's volts and the light left on its way down; None where there is none."""
    kept = document.curves.get("discharge")
    if kept is None:
        return None
    of = drawn(kept)
    x = of["light_s"] / 60
    lowest = [
        Limit(row.limit, f"lowest allowed {quantity(row.limit, row.unit)}")
        for row in document.findings
        if row.id == "pack-voltage"
    ]
    draw = (
        lambda axes: curves(
            axes, x, [Line(of["pack_V"], "pack under load", "blue")], "pack [V]", lowest
        ),
        lambda axes: _currents(axes, x, of["pack_A"], of["diode_A"]),
        lambda axes: _light(axes, x, of["light_lm"]),
    )
    return svg("discharge", (1.5, 1.2, 1.0), draw, "minutes of light [min]")


def _currents(axes: Axes, x: Values, pack_A: Values, diode_A: Values) -> None:
    lines = [
        Line(diode_A, "diode, what the law leaves", "red"),
        Line(pack_A, "out of the pack", "blue", "true", "s"),
    ]
    curves(axes, x, lines, CURRENT)
    axes.set_ylim(bottom=0)


def _light(axes: Axes, x: Values, light_lm: Values) -> None:
    curves(axes, x, [Line(light_lm, "light", "plum")], "light [lm]")
    axes.set_ylim(bottom=0)
