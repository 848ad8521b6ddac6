"""What the page draws: plots and their curves, as a table. A curve has colour, line and letters."""

from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["PLOTS", "Curve", "Plot", "plots_of"]


@dataclass(frozen=True)
class Curve:
    """One curve: its column of a Trace, its letters and name, its colour and line.

    `dash` is on, off in pixels; nothing for a whole line.
    """

    column: str
    code: str
    name: str
    colour: str
    dash: str = ""


@dataclass(frozen=True)
class Plot:
    """One plot: what is drawn against time, in which unit."""

    name: str
    title: str
    unit: str
    curves: tuple[Curve, ...]


PLOTS: tuple[Plot, ...] = (
    Plot(
        "current",
        "Diode current",
        "A",
        (
            Curve("diode_A", "T", "true", "blue"),
            Curve("current_read_A", "R", "read by the sensor", "red", "2 3"),
            Curve("drive_A", "D", "asked of the stage", "green", "7 4"),
            Curve("allowed_A", "C", "least of the caps", "plum", "12 4 2 4"),
        ),
    ),
    Plot("light", "Light", "W", (Curve("light_W", "L", "true", "blue"),)),
    Plot(
        "heat",
        "Temperatures",
        "degC",
        (
            Curve("junction_degC", "J", "junction, true", "red"),
            Curve("junction_law_degC", "JE", "junction, the law's estimate", "red", "7 4"),
            Curve("mount_degC", "M", "mount, true", "blue"),
            Curve("mount_read_degC", "MR", "mount, read", "blue", "2 3"),
            Curve("sink_degC", "S", "sink, true", "green"),
            Curve("sink_read_degC", "SR", "sink, read", "green", "2 3"),
        ),
    ),
    Plot(
        "pack",
        "Pack and output",
        "V",
        (
            Curve("pack_V", "P", "pack, true", "blue"),
            Curve("pack_read_V", "PR", "pack, read", "blue", "2 3"),
            Curve("rest_law_V", "PE", "pack at rest, the law's estimate", "blue", "7 4"),
            Curve("output_V", "O", "output, true", "plum"),
            Curve("output_read_V", "OR", "output, read", "plum", "2 3"),
        ),
    ),
)


def plots_of(columns: Sequence[str]) -> tuple[Plot, ...]:
    """Return the plots of a source with these columns: nothing is drawn that it does not know."""
    found = []
    for plot in PLOTS:
        curves = tuple(curve for curve in plot.curves if curve.column in columns)
        if curves:
            found.append(Plot(plot.name, plot.title, plot.unit, curves))
    return tuple(found)
