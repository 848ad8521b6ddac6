"""A sweep as a figure: light, its slope and the voltage over current, where it ended and why."""

import numpy as np
from matplotlib.axes import Axes

from diodewright.bench.sweep_fit import measured_parameters
from diodewright.bench.sweep_result import Result
from diodewright.derive.electrics import settle_on_mount
from diodewright.report.drawing import COLOURS, Values, svg

__all__ = ["sweep_figure"]

_HEIGHTS_IN = (2.3, 1.3, 1.5)
_FIT_POINTS = 60
_SLOPE_POINTS = 6
_MARKS = 45
_CURRENT = "current [A]"


def sweep_figure(found: Result) -> str:
    """Return the figure of a sweep as SVG."""
    points = found.trail.points
    current_A, light_W, volts_V = (
        np.array([getattr(point, name) for point in points])
        for name in ("asked_A", "light_W", "volts_V")
    )

    def light(axes: Axes) -> None:
        _points(axes, current_A, light_W, "measured")
        if found.fits is not None:
            x = np.linspace(current_A[0], current_A[-1], _FIT_POINTS)
            y = np.array([_fit_W(found, float(at_A)) for at_A in x])
            axes.plot(
                x, y, color=COLOURS["blue"], linewidth=1.4, zorder=1, label="fit, with its heat"
            )
        _threshold(axes, found)
        _ends(axes, found, named=True)
        _finish(axes, "light [W]")

    def slope(axes: Axes) -> None:
        x, y = _slopes(current_A, light_W)
        best = found.trail.best_W_A or 1.0
        axes.plot(
            x, 100 * y / best, color=COLOURS["plum"], linewidth=1.2, label="slope of light, 6 steps"
        )
        limit = 100 * found.plan.stop_slope
        axes.axhline(limit, color=COLOURS["ink"], linewidth=0.9, linestyle=(0, (1, 2)))
        axes.annotate(
            f"{limit:.0f} % ends a sweep",
            (0.45, limit),
            xycoords=("axes fraction", "data"),
            xytext=(0, -2),
            textcoords="offset points",
            va="top",
            fontsize=8.5,
        )
        axes.set_ylim(0, 130)
        _ends(axes, found, named=False)
        _finish(axes, "of its highest [%]")

    def volts(axes: Axes) -> None:
        _points(axes, current_A, volts_V, "measured, across the diode")
        _ends(axes, found, named=False)
        _finish(axes, "voltage [V]")

    return svg("sweep", _HEIGHTS_IN, (light, slope, volts), _CURRENT)


def _points(axes: Axes, x: Values, y: Values, name: str) -> None:
    axes.plot(
        x,
        y,
        linestyle="none",
        marker="o",
        markersize=3,
        markerfacecolor="none",
        color=COLOURS["ink"],
        markevery=max(1, len(x) // _MARKS),
        label=name,
    )


def _fit_W(found: Result, at_A: float) -> float:
    """Return the fit's light [W] on a mount as it was measured nearest to `at_A` [A]."""
    assert found.fits is not None
    near = min(found.trail.points, key=lambda point: abs(point.asked_A - at_A))
    p = measured_parameters(found.fits, found.build)
    return settle_on_mount(p, at_A, near.mount_degC).light_W


def _slopes(current_A: Values, light_W: Values) -> tuple[Values, Values]:
    """Return middle and slope of the line through each few points in a row."""
    count = len(current_A) - _SLOPE_POINTS + 1
    if count < 1:
        return np.array([]), np.array([])
    x = np.array([current_A[k : k + _SLOPE_POINTS].mean() for k in range(count)])
    y = np.array(
        [
            np.polyfit(current_A[k : k + _SLOPE_POINTS], light_W[k : k + _SLOPE_POINTS], 1)[0]
            for k in range(count)
        ]
    )
    return x, y


def _threshold(axes: Axes, found: Result) -> None:
    if found.fits is None or found.fits.threshold_A is None:
        return
    at_A = found.fits.threshold_A.value
    axes.axvline(at_A, color=COLOURS["green"], linewidth=1.1, linestyle="-.")
    _named(axes, at_A, f"threshold {at_A:.3f} A", 0.55, "left")


def _ends(axes: Axes, found: Result, named: bool) -> None:
    """Mark where the sweep ended, and the current that is recommended."""
    stop, most_A = found.stop, found.recommended_A
    if stop is not None:
        axes.axvline(stop.at_A, color=COLOURS["red"], linewidth=1.3)
        if named:
            _named(axes, stop.at_A, f"{stop.kind}, {stop.at_A:.3f} A", 0.12, "right")
    if most_A is not None:
        axes.axvline(most_A, color=COLOURS["green"], linewidth=1.3, linestyle="--")
        if named:
            _named(axes, most_A, f"recommended {most_A:.2f} A", 0.30, "right")


def _named(axes: Axes, at_A: float, text: str, height: float, side: str) -> None:
    axes.annotate(
        text,
        (at_A, height),
        xycoords=("data", "axes fraction"),
        xytext=(4 if side == "left" else -4, 0),
        textcoords="offset points",
        ha=side,
        fontsize=8.5,
    )


def _finish(axes: Axes, label: str) -> None:
    axes.margins(x=0.02, y=0.1)
    axes.set_ylabel(label)
    axes.legend(
        loc="lower left", bbox_to_anchor=(-0.01, 1.0), ncols=2, borderaxespad=0.2, fontsize=8.5
    )
