"""The margin bars: of every limit, where typical parts stand, and how far the true builds reach.

One row a limit, on one axis: part of the limit that is used up, 100 % is the limit itself. What
must stay above its limit is turned round, so that right is always worse. Bar, hatch and mark each
say their own thing; nothing is told by colour alone.
"""

from collections.abc import Sequence

from matplotlib.axes import Axes
from matplotlib.patches import Patch

from diodewright.report.drawing import COLOURS, svg
from diodewright.report.screen_margins import tightest_quantities, worst_of
from diodewright.report.shape_margins import Margins, Quantity
from diodewright.report.wording import left, quantity

__all__ = ["margin_bars"]

_ROW_IN = 0.44
#: Room at the right of the limit for the figures [part of the limit].
_ROOM = 0.62


def _used(row: Quantity, value: float) -> float:
    """Return the part of the limit that a value uses up; 1 is the limit."""
    if row.limit == 0:
        return 1.0 + value
    room = (row.limit - value) / abs(row.limit)
    return 1.0 - (room if row.sense == "at_most" else -room)


def _drawn(rows: Sequence[Quantity]) -> list[Quantity]:
    """Return the rows that the figure shows: judged, and moved by a part; tightest first."""
    return [row for row in rows if row.by]


def _said(row: Quantity) -> str:
    mark = "FAILS " if row.status == "fails" else ""
    return (
        f"{mark}{quantity(row.nominal, row.unit)}, {quantity(worst_of(row), row.unit)} "
        f"of {quantity(row.limit, row.unit, 4)}\n{left(row.margin_worst)}"
    )


def _bars(axes: Axes, rows: Sequence[Quantity]) -> None:
    for place, row in enumerate(reversed(rows)):
        nominal, worst = _used(row, row.nominal), _used(row, worst_of(row))
        low, high = sorted((nominal, worst))
        axes.barh(place, nominal, 0.5, color=COLOURS["faint"], edgecolor=COLOURS["ink"], lw=0.7)
        axes.barh(
            place,
            high - low,
            0.5,
            left=low,
            color="none",
            edgecolor=COLOURS["red"],
            hatch="////",
            lw=0.9,
        )
        if row.drawn_worst is not None:
            axes.plot(
                _used(row, row.drawn_worst), place, "D", ms=5, mfc="none", mec=COLOURS["blue"]
            )
        axes.annotate(_said(row), (max(1.0, high) + 0.02, place), va="center", fontsize=7.5)
    axes.set_label("; ".join(f"{row.id}, {row.scope}: {_said(row)}" for row in rows))
    axes.axvline(1.0, color=COLOURS["ink"], linewidth=1.2, linestyle=(0, (1, 2)))
    axes.set_yticks(
        range(len(rows)), [f"{row.id}\n{row.scope}" for row in reversed(rows)], fontsize=7
    )
    axes.set_ylim(-0.6, len(rows) - 0.4)
    furthest = max((_used(row, worst_of(row)) for row in rows), default=1.0)
    axes.set_xlim(0, max(1.0, furthest) + _ROOM)
    axes.set_xticks([0, 0.25, 0.5, 0.75, 1.0], ["0", "25", "50", "75", "100"])
    axes.grid(axis="y", visible=False)
    handles = [
        Patch(facecolor=COLOURS["faint"], edgecolor=COLOURS["ink"], label="typical parts"),
        Patch(facecolor="none", edgecolor=COLOURS["red"], hatch="////", label="worst build tried"),
        axes.plot([], [], "D", ms=5, mfc="none", mec=COLOURS["blue"], label="worst drawn")[0],
    ]
    axes.legend(
        handles=handles,
        loc="lower left",
        bbox_to_anchor=(-0.01, 1.0),
        ncols=3,
        borderaxespad=0.2,
        fontsize=8.5,
    )


def margin_bars(margins: Margins, paper: str = "none") -> str:
    """Return the figure as SVG text; the same margins give the same bytes."""
    rows = _drawn(tightest_quantities(margins))
    return svg(
        "margins",
        (_ROW_IN * max(len(rows), 1),),
        (lambda axes: _bars(axes, rows),),
        "part of the limit that is used up [%]",
        paper,
    )
