"""Figures of a recording against the model: a fit with what is left, a comparison by quantity."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from diodewright.bench.against import Against, Compared
from diodewright.bench.fitting import Fit
from diodewright.report.drawing import Line, curves, event_marks, svg

__all__ = ["against_figure", "fit_figure"]

Values = NDArray[np.float64]
_MOST_POINTS = 1500
_TIME = "time since the recording's start [s]"
_TALL_IN, _LOW_IN = 2.2, 1.3
_HUES = ("red", "blue")


def _thinned(time_s: Values) -> slice:
    return slice(None, None, max(1, len(time_s) // _MOST_POINTS))


def fit_figure(fit: Fit) -> str:
    """Return SVG: recorded and fitted, and below what is left of each."""
    thin = _thinned(fit.time_s)
    x = fit.time_s[thin]
    named = list(zip(fit.channels.items(), _HUES, strict=False))
    unit = next(iter(fit.channels.values()))[2]

    def whole(axes: Axes) -> None:
        lines = []
        for (name, (seen, model, _)), hue in named:
            lines.append(Line(seen[thin], f"{name}, recorded", hue, "sensed"))
            lines.append(Line(model[thin], f"{name}, fitted", hue if len(named) > 1 else "blue"))
        curves(axes, x, lines, f"{'temperature' if unit == '°C' else 'pack'} [{unit}]")

    def left_of(name: str, hue: str) -> Callable[[Axes], object]:
        seen, model, _ = fit.channels[name]
        # single readings, not means: the scatter is what the uncertainties rest on
        line = Line(_milli(unit) * (seen - model)[thin], f"{name}, recorded less fitted", hue)
        return lambda axes: curves(axes, x, [replace(line, kind="sensed")], f"[{_small(unit)}]")

    left = [left_of(name, hue) for (name, _), hue in named]
    heights = [_TALL_IN, *[_LOW_IN] * len(left)]
    return svg(f"fit-{fit.what}", heights, [whole, *left], _TIME)


def _milli(unit: str) -> float:
    return 1000.0 if unit == "V" else 1.0


def _small(unit: str) -> str:
    return {"V": "mV", "°C": "K"}[unit]


def against_figure(found: Against) -> str:
    """Return SVG: bench and model of every quantity that the recording has."""
    thin = _thinned(found.time_s)
    x = found.time_s[thin]
    by_name = {each.name: each for each in found.compared if len(each.bench)}
    draw: list[Callable[[Axes], object]] = []
    for names, label in (
        (("current",), "diode [A]"),
        (("output",), "output [V]"),
        (("pack",), "pack [V]"),
        (("mount", "sink"), "temperature [°C]"),
    ):
        there = [by_name[name] for name in names if name in by_name]
        if there:
            draw.append(_both(x, thin, there, label))
    heights = [_LOW_IN] * (len(draw) - 1) + [_TALL_IN]
    return svg("bench-and-model", heights, draw, _TIME)


def _worst(of: Compared) -> str:
    unit = "K" if of.unit == "°C" else of.unit
    return f"{of.name} {of.worst:+.3g} {unit}"


def _both(x: Values, thin: slice, rows: list[Compared], label: str) -> Callable[[Axes], object]:
    def into(axes: Axes) -> None:
        lines = []
        for each, hue in zip(rows, _HUES, strict=False):
            name = f"{each.name}, " if len(rows) > 1 else ""
            lines.append(Line(each.bench[thin], f"{name}bench", hue, "sensed"))
            lines.append(Line(each.model[thin], f"{name}model", hue if name else "blue"))
        curves(axes, x, lines, label)
        # where a quantity that differs is furthest from the model
        wrong = [each for each in rows if each.verdict == "differs"]
        event_marks(axes, [(each.worst_at_s, _worst(each)) for each in wrong])

    return into
