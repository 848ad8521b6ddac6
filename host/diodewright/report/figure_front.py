"""The front of two wishes: one mark a setting, the first, the last and every fifth by its name."""

from collections.abc import Mapping
from typing import Any

from matplotlib.axes import Axes

from diodewright.report.drawing import COLOURS, svg
from diodewright.report.wording import label, unit_text
from diodewright.tune.wishes import WISHES

__all__ = ["front_figure"]

_EVERY = 5


def _axis(wish: str) -> str:
    row = WISHES[wish]
    return f"{label(row.figure)} [{unit_text(row.unit)}]"


def _draw(axes: Axes, document: Mapping[str, Any]) -> None:
    first, second = (WISHES[name].figure for name in document["wishes"])
    points = document["points"]
    x = [point["figures"][second] for point in points]
    y = [point["figures"][first] for point in points]
    axes.plot(x, y, "o-", ms=4, color=COLOURS["blue"], linewidth=1.0)
    last = len(points) - 1
    for place, point in enumerate(points):
        if place % _EVERY == 0 or place == last:
            axes.annotate(
                point["name"],
                (x[place], y[place]),
                textcoords="offset points",
                xytext=(5, 4),
                fontsize=7.5,
            )
    axes.set_ylabel(_axis(document["wishes"][0]))
    axes.set_label(
        "; ".join(f"{p['name']}: {b:.4g}, {a:.4g}" for p, a, b in zip(points, x, y, strict=True))
    )


def front_figure(document: Mapping[str, Any]) -> str:
    """Return the figure of a front's document as SVG text; the same document, the same bytes."""
    return svg(
        "front",
        (3.2,),
        (lambda axes: _draw(axes, document),),
        _axis(document["wishes"][1]),
        "white",
    )
