"""The figures of a document: the use, its temperatures, its pack, its modes, and the rise."""

from collections.abc import Iterable, Mapping

import numpy as np
from matplotlib.axes import Axes

from diodedriver import words
from diodewright.report.drawing import Limit, Line, Values, curves, strip, svg
from diodewright.report.shape import Document, Finding
from diodewright.report.wording import quantity

__all__ = [
    "CURRENT",
    "MODES",
    "TIME_S",
    "currents",
    "drawn",
    "modes",
    "pack",
    "rise",
    "temperatures",
]

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


def _use(document: Document) -> tuple[Values, Columns, str]:
    """Return time, columns and the time's label of the document's use."""
    of = drawn(document.traces["use"])
    return of["time_s"], of, _SCENARIO_S if document.scenario else TIME_S


def currents(document: Document) -> str:
    """Return current and light over the whole use."""
    x, of, time_s = _use(document)
    asked = _limits(document.findings, {"light": "asked for"})
    draw = (lambda axes: _currents(axes, x, of), lambda axes: _light(axes, x, of, asked))
    return svg("currents", (1.9, 1.1), draw, time_s)


def rise(document: Document) -> str:
    """Return current and light around the soft-start."""
    of = drawn(document.traces["rise"])
    x = 1000 * of["time_s"]
    draw = (lambda axes: _currents(axes, x, of), lambda axes: _light(axes, x, of))
    return svg("rise", (1.9, 1.1), draw, _RISE_MS)


def temperatures(document: Document) -> str:
    """Return junction, mount and sink over the whole use."""
    x, of, time_s = _use(document)
    limits = _limits(document.findings, {"junction": "junction limit", "touch": "sink, touch"})
    return svg("temperatures", (2.7,), (lambda axes: _temperatures(axes, x, of, limits),), time_s)


def pack(document: Document) -> str:
    """Return the pack's voltage over the whole use."""
    x, of, time_s = _use(document)
    lowest = _limits(document.findings, {"pack-voltage": "lowest allowed"})
    return svg("pack", (1.8,), (lambda axes: _pack(axes, x, of, lowest),), time_s)


def modes(document: Document) -> str:
    """Return the law's mode and the least cap over the whole use."""
    x, of, time_s = _use(document)
    draw = (
        lambda axes: strip(axes, x, of["mode"], MODES, "mode [name]"),
        lambda axes: strip(axes, x, of["bound"], words.BOUNDS, "bound by [name]"),
    )
    return svg("modes", (1.7, 1.0), draw, time_s)
