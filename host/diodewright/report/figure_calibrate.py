"""A calibration's residuals: each point off its line with what it may be, and the error before it.

Above: truth minus line, bars of two standard uncertainties of each residual, the line's own
interval of 95 % as a band (the meter's accuracy not in it, which moves all points together). Below:
how far the reading was off before, and what the line says of it.
"""

from collections.abc import Callable

import numpy as np
from matplotlib.axes import Axes

from diodewright.bench.calibrate import Calibrated
from diodewright.bench.calibrate_keys import as_line, back
from diodewright.bench.calibrate_line import COVER
from diodewright.report.drawing import COLOURS, svg

__all__ = ["calibration_figure"]

_HEIGHT_IN = 1.6


def calibration_figure(done: Calibrated, paper: str = "white") -> str:
    """Return the figure as SVG text; the same calibration gives the same bytes."""
    kelvin = done.row.is_temperature
    size, unit = (1.0, "K") if kelvin else (1000.0, f"m{done.row.unit}")
    draw: tuple[Callable[[Axes], object], ...] = (
        lambda axes: _residuals(axes, done, size, unit),
        lambda axes: _before(axes, done, size, unit),
    )
    shown = "°C" if kelvin else done.row.unit
    return svg(
        f"calibration-{done.row.name}",
        (_HEIGHT_IN, _HEIGHT_IN),
        draw,
        f"{done.row.noun}, by the meter [{shown}]",
        paper,
    )


def _grid(done: Calibrated) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Return truths from the lowest point to the highest, a little beyond."""
    trues = [point.true for point in done.points]
    low, high = min(trues), max(trues)
    return np.linspace(low - 0.04 * (high - low), high + 0.04 * (high - low), 61)


def _residuals(axes: Axes, done: Calibrated, size: float, unit: str) -> None:
    truths = _grid(done)
    line, row = done.line, done.row
    half = [size * COVER * line.u(line.read(as_line(row, float(true)))) for true in truths]
    axes.fill_between(
        truths,
        [-each for each in half],
        half,
        color=COLOURS["blue"],
        alpha=0.25,
        linewidth=0,
        label="line, 95 %",
    )
    axes.axhline(0, color=COLOURS["ink"], linewidth=0.9)
    axes.errorbar(
        [point.true for point in done.points],
        [size * residual for residual in line.residuals],
        yerr=[size * COVER * expected for expected in line.expected_u],
        fmt="o",
        color=COLOURS["red"],
        markersize=4.5,
        capsize=3,
        linewidth=1.2,
        label="points, with what each may be off",
    )
    axes.set_label(
        "residuals "
        + ", ".join(
            f"{size * residual:+.2g} {unit} at {point.true:.3g}"
            for point, residual in zip(done.points, line.residuals, strict=True)
        )
    )
    axes.set_ylabel(f"off the line [{unit}]")
    _legend(axes)


def _before(axes: Axes, done: Calibrated, size: float, unit: str) -> None:
    truths = _grid(done)
    line, row = done.line, done.row
    errors = [
        size * (back(row, line.read(as_line(row, float(true)))) - float(true)) for true in truths
    ]
    axes.plot(truths, errors, color=COLOURS["blue"], linewidth=1.5, label="the line")
    axes.plot(
        [point.true for point in done.points],
        [size * (point.read - point.true) for point in done.points],
        "o",
        color=COLOURS["red"],
        markersize=4.5,
        label="reading minus meter, before",
    )
    axes.axhline(0, color=COLOURS["ink"], linewidth=0.9, linestyle=(0, (1, 2)))
    axes.set_label(f"the reading was off by {min(errors):+.2g} to {max(errors):+.2g} {unit}")
    axes.set_ylabel(f"error before [{unit}]")
    _legend(axes)


def _legend(axes: Axes) -> None:
    axes.legend(
        loc="lower left",
        bbox_to_anchor=(-0.01, 1.0),
        ncols=3,
        borderaxespad=0.2,
        fontsize=8.5,
    )
