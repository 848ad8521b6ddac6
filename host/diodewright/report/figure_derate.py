"""Derate lines: what each cap of the law allows, and where the use went under it."""

from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes

from diodewright.report.drawing import COLOURS, Line, Values, curves, path, svg
from diodewright.report.figures import CURRENT, drawn
from diodewright.report.shape import Document
from diodewright.report.shape_handed import Derate, Fade

__all__ = ["junction", "mount", "pack"]

_HEIGHT_IN = 1.8
#: How far the axis reaches beyond the corners, as a share of their span.
_BEYOND = 0.06


@dataclass(frozen=True)
class _Row:
    """One cap: its name in the document, the column of the use, its axis and unit."""

    name: str
    column: str
    x_label: str
    unit: str


_MOUNT = _Row("mount", "mount_read_degC", "mount, sensed [°C]", "°C")
_JUNCTION = _Row("junction", "junction_law_degC", "junction, the law's estimate [°C]", "°C")
_PACK = _Row("pack", "rest_law_V", "pack at rest, the law's estimate [V]", "V")


def mount(document: Document) -> str | None:
    """Return allowed current against mount temperature; None where the document has no caps."""
    return _figure(document, _MOUNT)


def junction(document: Document) -> str | None:
    """Return allowed current against the estimated junction; None where there are no caps."""
    return _figure(document, _JUNCTION)


def pack(document: Document) -> str | None:
    """Return allowed current against the estimated pack voltage; None where there are no caps."""
    return _figure(document, _PACK)


def _figure(document: Document, row: _Row) -> str | None:
    derate = document.derate
    if derate is None:
        return None
    fade: Fade = getattr(derate, row.name)
    went = _path(document, row.column)

    def draw(axes: Axes) -> None:
        _draw(axes, derate, fade, row, went)

    return svg(f"derate-{row.name}", (_HEIGHT_IN,), (draw,), row.x_label)


def _path(document: Document, column: str) -> tuple[Values, Values] | None:
    """Return reading and drive [A] while the use was lit; None where it never was.

    Its beginning is taken from the rise close up: the rows of the whole use are further apart
    than a soft-start is long.
    """
    if document.use is None:
        return None
    use, rise = drawn(document.traces["use"]), drawn(document.traces["rise"])
    lit, rising = use["drive_A"] > 0, rise["drive_A"] > 0
    if not lit.any():
        return None
    time_s = use["time_s"]
    if rising.any():
        lit &= time_s > time_s[lit][0] + rise["time_s"][-1] - rise["time_s"][rising][0]
    x, y = (np.append(rise[name][rising], use[name][lit]) for name in (column, "drive_A"))
    return x, y


def _draw(
    axes: Axes, derate: Derate, fade: Fade, row: _Row, went: tuple[Values, Values] | None
) -> None:
    volts = row is _PACK
    at = np.asarray(fade.at_V if volts else fade.at_degC)
    allowed = Line(np.asarray(fade.allowed_A), "allowed by this cap alone", "green", "cap")
    dark = fade.dark_V if volts else fade.dark_degC
    curves(axes, at, [allowed], CURRENT)
    if went:
        path(axes, *went, "drive in the use, from ring to square")
    beyond = _BEYOND * float(at[-1] - at[0])
    low, high = float(at[0]), float(at[-1])
    # what the use reached outside of the corners is shown as well
    reached = went[0] if went else at
    low, high = min(low, float(reached.min())) - beyond, max(high, float(reached.max())) + beyond
    axes.set_xlim(low, high)
    axes.set_ylim(0, 1.15 * max(*fade.allowed_A, derate.level_A))
    ends = (low, dark) if volts else (dark, high)
    axes.axvspan(*ends, facecolor="none", edgecolor=COLOURS["faint"], hatch="///", linewidth=0)
    axes.axvline(dark, color=COLOURS["ink"], linewidth=0.9, label="_dark")
    axes.annotate(
        f"dark {'below' if volts else 'from'} {dark:.4g} {row.unit}",
        (dark, 0.06),
        xycoords=("data", "axes fraction"),
        xytext=(4 if volts else -4, 0),
        textcoords="offset points",
        ha="left" if volts else "right",
        fontsize=8.5,
    )
    if not derate.gate_A:
        axes.axhline(derate.level_A, color=COLOURS["ink"], linewidth=0.9, linestyle=(0, (1, 2)))
        axes.annotate(
            f"highest level {derate.level_A:.4g} A",
            (0.01, derate.level_A),
            xycoords=("axes fraction", "data"),
            xytext=(0, -2),
            textcoords="offset points",
            va="top",
            fontsize=8.5,
        )
    axes.legend(
        loc="lower left", bbox_to_anchor=(-0.01, 1.0), ncols=2, borderaxespad=0.2, fontsize=8.5
    )
