"""The ten smallest margins among the fault cases, each over its own time from the fault on."""

from collections.abc import Callable

import numpy as np
from matplotlib.axes import Axes

from diodewright.report.drawing import COLOURS, panels
from diodewright.report.shape import Document, Near
from diodewright.report.wording import number, unit_text

__all__ = ["closest"]


def closest(document: Document) -> str | None:
    """Return the figure; None where the document has no such cases."""
    if not document.closest:
        return None
    return panels(
        "closest", [_drawn(near) for near in document.closest], "time from the fault [ms]"
    )


def _drawn(near: Near) -> Callable[[Axes], None]:
    def draw(axes: Axes) -> None:
        time_ms = 1000 * np.asarray(near.time_s)
        value = np.asarray(near.value)
        unit = unit_text(near.unit)
        label = f"{near.id}@{near.at}, {unit}"
        axes.plot(time_ms, value, color=COLOURS["blue"], linewidth=1.5, label=label)
        if near.unit == "A":
            drive = np.asarray(near.drive_A)
            axes.plot(time_ms, drive, "--", color=COLOURS["ink"], linewidth=0.8, label="_drive")
        axes.axhline(near.limit, color=COLOURS["ink"], linewidth=0.9, linestyle=(0, (1, 2)))
        after = np.where(time_ms >= 0, value, -np.inf)
        at_ms = time_ms[int(np.argmax(after))]
        axes.plot([at_ms], [near.peak], "x", color=COLOURS["red"], label="_peak")
        axes.set_title(f"{near.id}@{near.at}", fontsize=8.5, loc="left")
        said = f"{number(near.peak, 4)} of {number(near.limit, 4)} {unit}"
        axes.text(0.98, 0.06, said, transform=axes.transAxes, ha="right", fontsize=8)
        axes.margins(x=0, y=0.15)
        axes.tick_params(labelsize=8)
        axes.xaxis.label.set_fontsize(8)

    return draw
