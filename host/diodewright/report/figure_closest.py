"""The ten smallest margins among the fault cases, each over its own time from the fault on."""

from collections.abc import Callable

import numpy as np
from matplotlib.axes import Axes

from diodewright.report.drawing import COLOURS, panels
from diodewright.report.shape import Document, Near
from diodewright.report.wording import number, unit_text

__all__ = ["closest"]


#: A curve that stays below so much of its peak has its peak within one step, between its rows.
_SEEN = 0.9


def closest(document: Document) -> str | None:
    """Return the figure; None where the document has no such cases."""
    if not document.closest:
        return None
    dark_ms = {(case.id, case.at): case.time_to_dark_ms for case in document.faults}
    drawn = [_drawn(near, dark_ms.get((near.id, near.at))) for near in document.closest]
    return panels("closest", drawn, "time from the fault [ms]")


def _peak_ms(near: Near, dark_ms: float | None) -> float:
    """Return when the peak was [ms]; of one within a step: when the light went dark, if it did."""
    value = np.where(np.asarray(near.time_s) >= 0, near.value, -np.inf)
    at = int(np.argmax(value))
    if dark_ms is not None and value[at] < _SEEN * near.peak:
        return dark_ms
    return 1000 * near.time_s[at]


def _drawn(near: Near, dark_ms: float | None) -> Callable[[Axes], None]:
    def draw(axes: Axes) -> None:
        time_ms = 1000 * np.asarray(near.time_s)
        unit = unit_text(near.unit)
        label = f"{near.id}@{near.at}, {unit}"
        axes.plot(time_ms, near.value, color=COLOURS["blue"], linewidth=1.5, label=label)
        if near.unit == "A":
            axes.plot(time_ms, near.drive_A, "--", color=COLOURS["ink"], lw=0.8, label="_drive")
        axes.axhline(near.limit, color=COLOURS["ink"], linewidth=0.9, linestyle=(0, (1, 2)))
        at_ms = _peak_ms(near, dark_ms)
        axes.plot([at_ms], [near.peak], "x", color=COLOURS["red"], label="_peak")
        said = f"{number(near.peak, 4)} of {number(near.limit, 4)} {unit}"
        axes.set_title(f"{near.id}@{near.at}\n{said}", fontsize=8, loc="left", pad=4)
        axes.set_ylabel(f"{near.criterion.replace('-', ' ')} [{unit}]", fontsize=7.5)
        axes.margins(x=0, y=0.15)
        axes.tick_params(labelsize=8)
        axes.xaxis.label.set_fontsize(8)

    return draw
