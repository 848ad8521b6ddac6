"""The figures of a document: the use, its temperatures, its pack, its modes, and the rise."""

from collections.abc import Iterable, Mapping

import numpy as np
from matplotlib.axes import Axes

from diodedriver import words
from diodewright.report.drawing import Limit, Line, Values, curves, inline, strip, svg
from diodewright.report.shape import Document, Finding
from diodewright.report.wording import quantity

__all__ = ["CURRENT", "MODES", "TIME_S", "document_figures", "drawn"]

TIME_S = "time from the press [s]"
_SCENARIO_S = "time from the end of the rest [s]"
CURRENT = "current [A]"
MODES = tuple(name for name, _ in words.MODES)
_RISE_MS = "time from the end of the emission delay [ms]"

Columns = Mapping[str, Values]


def _limits(findings: Iterable[Finding], names: Mapping[str, str]) -> list[Limit]:
    """Return the limits of those findings (id -> what the limit is called)."""
    return [
        Limit(f.limit, f"{names[f.id]} {quantity(f.limit, f.unit)}")
        for f in findings
        if f.id in names
    ]


def drawn(columns: Mapping[str, Iterable[float]]) -> dict[str, Values]:
    """Return columns as arrays."""
    return {name: np.asarray(values, dtype=np.float64) for name, values in columns.items()}


def _currents(axes: Axes, x: Values, of: Columns) -> None:
    lines = [
        Line(of["allowed_A"], "allowed by the law", "green", "cap"),
        Line(of["drive_A"], "drive, asked by the law", "red", "drive"),
        Line(of["diode_A"], "diode, true", "blue"),
        Line(of["current_read_A"], "diode, sensed", "ink", "sensed"),
    ]
    curves(axes, x, lines, CURRENT)
    axes.set_ylim(bottom=0)


def _light(axes: Axes, x: Values, of: Columns, limits: Iterable[Limit] = ()) -> None:
    curves(axes, x, [Line(of["light_W"], "light, true", "plum")], "light [W]", limits)
    axes.set_ylim(bottom=0)


def _temperatures(axes: Axes, x: Values, of: Columns, limits: Iterable[Limit]) -> None:
    lines = [
        Line(of["junction_degC"], "junction, true", "red", "true", "o"),
        Line(of["junction_law_degC"], "junction, the law's estimate", "red", "law"),
        Line(of["mount_degC"], "mount, true", "blue", "true", "s"),
        Line(of["mount_read_degC"], "mount, sensed", "blue", "sensed"),
        Line(of["sink_degC"], "sink, true", "green", "true", "^"),
        Line(of["sink_read_degC"], "sink, sensed", "green", "sensed"),
    ]
    curves(axes, x, lines, "temperature [°C]", limits)


def _pack(axes: Axes, x: Values, of: Columns, limits: Iterable[Limit]) -> None:
    lines = [
        Line(of["pack_read_V"], "pack, sensed", "ink", "sensed"),
        Line(of["pack_V"], "pack, true", "blue"),
        Line(of["rest_law_V"], "at rest, the law's estimate", "red", "law"),
    ]
    curves(axes, x, lines, "pack [V]", limits)


def document_figures(document: Document) -> dict[str, tuple[str, str]]:
    """Return name -> (title, SVG for a page) of every figure that the document can fill.

    A document without a use has none. Values are the picked rows of its traces: what lies
    between them is not drawn, and the peaks in its tables may stand above the curves.
    """
    if document.use is None:
        return {}
    use, rise = drawn(document.traces["use"]), drawn(document.traces["rise"])
    findings = document.findings
    time_s = _SCENARIO_S if document.scenario else TIME_S
    x, rise_ms = use["time_s"], 1000 * rise["time_s"]
    made = {
        "currents": (
            "Currents and light over the whole use",
            svg(
                "currents",
                (1.9, 1.1),
                (
                    lambda axes: _currents(axes, x, use),
                    lambda axes: _light(axes, x, use, _limits(findings, {"light": "asked for"})),
                ),
                time_s,
            ),
        ),
        "rise": (
            "The rise, close up",
            svg(
                "rise",
                (1.9, 1.1),
                (
                    lambda axes: _currents(axes, rise_ms, rise),
                    lambda axes: _light(axes, rise_ms, rise),
                ),
                _RISE_MS,
            ),
        ),
        "temperatures": (
            "Temperatures",
            svg(
                "temperatures",
                (2.7,),
                (
                    lambda axes: _temperatures(
                        axes,
                        x,
                        use,
                        _limits(findings, {"junction": "junction limit", "touch": "sink, touch"}),
                    ),
                ),
                time_s,
            ),
        ),
        "pack": (
            "Pack voltage",
            svg(
                "pack",
                (1.8,),
                (
                    lambda axes: _pack(
                        axes, x, use, _limits(findings, {"pack-voltage": "lowest allowed"})
                    ),
                ),
                time_s,
            ),
        ),
        "modes": (
            "The law's mode, and what binds the light",
            svg(
                "modes",
                (1.7, 1.0),
                (
                    lambda axes: strip(axes, x, use["mode"], MODES, "mode [name]"),
                    lambda axes: strip(axes, x, use["bound"], words.BOUNDS, "bound by [name]"),
                ),
                time_s,
            ),
        ),
    }
    return {name: (title, inline(text, name, title)) for name, (title, text) in made.items()}
