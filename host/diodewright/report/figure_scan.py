"""A scan drawn: curves over one key, or a map over two, what must not be hatched.

Of one key axes below each other: light, times, and the least margin of all that must hold. Of two
a map of one figure by lines of equal value. Hatched is where a constraint is broken or the
build is refused; the present setting is marked.
"""

import math
from collections.abc import Callable, Sequence
from functools import partial
from typing import Any

import numpy as np
from matplotlib.axes import Axes

from diodewright.report.drawing import COLOURS, Limit, Line, Values, curves, png, svg
from diodewright.report.wording import unit_text
from diodewright.tune.scan import Axis, Scan

__all__ = ["map_figure", "scan_figure", "scan_image"]

_HEIGHT_IN = 1.25
#: Figures with axes of their own: id, name, colour, label.
_TIMES = (
    ("before_cutback_s", "full level before cutback", "red", "time [s]"),
    ("pack_min", "light from one pack", "plum", "time [min]"),
)
_MAP_IN = 3.6
_LINES = 8
_PER_CENT = 100.0

_Draw = tuple[tuple[float, ...], tuple[Callable[[Axes], object], ...], str | Sequence[str]]


def scan_figure(found: Scan, figure: str) -> str:
    """Return a scan as SVG text; `figure` is the one that a map shows."""
    heights, draw, label = _drawn(found, figure)
    return svg("scan", heights, draw, label, "white")


def scan_image(found: Scan, figure: str) -> bytes:
    """Return a scan as PNG."""
    heights, draw, label = _drawn(found, figure)
    return png("scan", heights, draw, label if isinstance(label, str) else label[0])


def _drawn(found: Scan, figure: str) -> _Draw:
    if len(found.axes) == 2:
        return (_MAP_IN,), (lambda axes: map_figure(axes, found, figure),), _label(found.axes[0])
    times = [row for row in _TIMES if not np.isnan(found.figure(row[0])).all()]
    draw: list[Callable[[Axes], object]] = [lambda axes: _light(axes, found)]
    draw += [
        partial(_one, found=found, id=id, name=name, colour=colour, label=label)
        for id, name, colour, label in times
    ]
    draw.append(lambda axes: _margin(axes, found))
    return (_HEIGHT_IN,) * len(draw), tuple(draw), _label(found.axes[0])


def _label(axis: Axis) -> str:
    unit = unit_text(axis.key.unit)
    return f"{axis.key.path} [{unit}]" if unit else axis.key.path


def _x(found: Scan) -> Values:
    return np.asarray(found.axes[0].values)


def _light(axes: Axes, found: Scan) -> None:
    rows = (
        ("light_first_minute_W", "after a minute", "green", "true", ""),
        ("light_sustained_W", "after ten", "blue", "law", "o"),
    )
    _curves(axes, found, [(found.figure(id), *said) for id, *said in rows], "light [W]")


def _one(axes: Axes, found: Scan, id: str, name: str, colour: str, label: str) -> None:
    _curves(axes, found, [(found.figure(id), name, colour, "true", "")], label)


def _margin(axes: Axes, found: Scan) -> None:
    margins = [_PER_CENT * m if math.isfinite(m) else math.nan for m in found.margins()]
    rows = [(margins, "least margin", "ink", "true", "")]
    _curves(axes, found, rows, "left [%]", [Limit(0.0, "fails below")])


def _curves(
    axes: Axes,
    found: Scan,
    rows: Sequence[Sequence[Any]],
    label: str,
    limits: Sequence[Limit] = (),
) -> None:
    """Draw curves over the places that were not refused, and what all axes of a scan have."""
    known = ~np.isnan(rows[0][0])
    lines = [Line(np.asarray(values)[known], *said) for values, *said in rows]
    curves(axes, _x(found)[known], lines, label, limits)
    _finish(axes, found)


def _finish(axes: Axes, found: Scan) -> None:
    """Hatch what is forbidden and mark the present setting."""
    x, axis = _x(found), found.axes[0]
    for begin, end in forbidden(x, [bool(place.binds) for place in found.places]):
        axes.axvspan(begin, end, facecolor="none", edgecolor=COLOURS["faint"], hatch="///", lw=0)
    axes.set_xlim(x[0], x[-1])
    axes.axvline(axis.key.start, color=COLOURS["ink"], linewidth=0.9, linestyle=(0, (4, 2)))
    if axis.by_ratio:
        axes.set_xscale("log")
        axes.xaxis.set_major_formatter(_plainly)


def _plainly(value: float, _: float | None = None) -> str:
    """Return a tick as a build file would write it."""
    return f"{value:g}"


def forbidden(x: Values, against: Sequence[bool]) -> list[tuple[float, float]]:
    """Return the spans that are against something, each to half way to its neighbours."""
    edges = np.concatenate([x[:1], (x[1:] + x[:-1]) / 2, x[-1:]])
    spans: list[tuple[float, float]] = []
    for place, bad in enumerate(against):
        if not bad:
            continue
        begin, end = float(edges[place]), float(edges[place + 1])
        if spans and spans[-1][1] == begin:
            begin = spans.pop()[0]
        spans.append((begin, end))
    return spans


def map_figure(axes: Axes, found: Scan, figure: str) -> None:
    """Draw the map of a scan of two keys."""
    first, second = found.axes
    shape = (len(first.values), len(second.values))
    # the first key runs along the horizontal
    values = np.ma.masked_invalid(np.asarray(found.figure(figure)).reshape(shape).T)
    against = np.asarray([bool(place.binds) for place in found.places]).reshape(shape).T
    x, y = np.asarray(first.values), np.asarray(second.values)
    if values.count():
        lines = axes.contour(x, y, values, levels=_LINES, colors=COLOURS["blue"], linewidths=1.1)
        axes.clabel(lines, fontsize=8)
    for place in zip(*np.nonzero(against), strict=True):
        (left, right), (low, high) = _cell(x, place[1]), _cell(y, place[0])
        axes.fill(
            [left, right, right, left],
            [low, low, high, high],
            facecolor="none",
            edgecolor=COLOURS["faint"],
            hatch="///",
            linewidth=0,
        )
    axes.plot([first.key.start], [second.key.start], "s", color=COLOURS["red"], mfc="none", ms=8)
    sides = ((first, axes.set_xscale, axes.xaxis), (second, axes.set_yscale, axes.yaxis))
    for axis, scale, side in sides:
        if axis.by_ratio:
            scale("log")
            side.set_major_formatter(_plainly)
    axes.set_ylabel(_label(second))
    axes.set_title(f"{figure.replace('_', ' ')}; hatched: forbidden; square: now", fontsize=9)
    bad = int(against.sum())
    spread = f"from {values.min():.3g} to {values.max():.3g}" if values.count() else "nowhere"
    axes.set_label(f"{figure} {spread}; {bad} of {against.size} places forbidden")


def _cell(at: Values, place: int) -> tuple[float, float]:
    edges = np.concatenate([at[:1], (at[1:] + at[:-1]) / 2, at[-1:]])
    return float(edges[place]), float(edges[place + 1])
