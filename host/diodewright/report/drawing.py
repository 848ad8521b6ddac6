"""How figures are drawn: palette, line styles, axes with units, and files that repeat to the byte.

True values are solid, sensed ones dashed, the law's estimates dash-dotted, its caps dotted, its
drive a broad pale band; limits are finely dotted with their name on them. Colours are the
colour-blind-safe ones of Okabe and Ito ("Color Universal Design", 2008), the purple darkened for
white paper; line style and marker say the same again, so that no figure needs its colours.
"""

import io
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import partial
from html import escape
from typing import Any

import matplotlib
import matplotlib.style
import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from numpy.typing import NDArray

__all__ = [
    "COLOURS",
    "Limit",
    "Line",
    "curves",
    "event_marks",
    "inline",
    "panels",
    "path",
    "png",
    "strip",
    "svg",
]

#: Name -> colour on white. `inline` turns them into style variables of those names.
COLOURS = {
    "ink": "#20262a",
    "faint": "#c4cbcf",
    "blue": "#0072b2",
    "red": "#d55e00",
    "green": "#009e73",
    "plum": "#a8558a",
}
#: Kind of a line -> its style, width and opacity; the drive is a broad pale band under the rest.
_KINDS: dict[str, tuple[str, float, float]] = {
    "true": ("-", 1.7, 1.0),
    "sensed": ("--", 1.1, 1.0),
    "law": ("-.", 1.3, 1.0),
    "cap": (":", 1.7, 1.0),
    "drive": ("-", 5.0, 0.4),
}
_WIDTH_IN = 6.4
_PNG_DPI = 120
#: Room for the y labels and names, at the right, for a legend of two rows, for the x label.
_LEFT_IN, _RIGHT_IN, _ABOVE_IN, _BELOW_IN = 1.0, 0.15, 0.42, 0.5
#: Height of one of the small axes, its title and labels included.
_PANEL_IN = 1.75
#: Where along the axis the names of limits end; neighbours are kept apart.
_LIMIT_NAMES_AT = (0.55, 0.93)
_SETTINGS: dict[Any, Any] = {
    "svg.fonttype": "none",
    "path.simplify": True,
    "font.family": ["DejaVu Sans"],
    "font.size": 9.5,
    "text.parse_math": False,
    "text.color": COLOURS["ink"],
    "axes.labelcolor": COLOURS["ink"],
    "axes.edgecolor": COLOURS["ink"],
    "axes.linewidth": 0.7,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.grid": True,
    "grid.color": COLOURS["faint"],
    "grid.linewidth": 0.5,
    "xtick.color": COLOURS["ink"],
    "ytick.color": COLOURS["ink"],
    "legend.frameon": False,
    "legend.handlelength": 2.6,
}

Values = NDArray[np.float64]


@dataclass(frozen=True)
class Line:
    """One curve: its values, name, colour, kind (see `_KINDS`) and marker."""

    values: Values
    name: str
    colour: str
    kind: str = "true"
    marker: str = ""


@dataclass(frozen=True)
class Limit:
    """One horizontal limit, in the unit of its axis."""

    value: float
    name: str


def _canvas(heights: Sequence[float], paper: str, shared: bool = True) -> tuple[Figure, list[Axes]]:
    """Return an empty figure with axes of these heights [inch], one below the other.

    Places are fixed, so that the axes of all figures stand below each other on a page. Axes that
    are not `shared` have an x label each, and room for it.
    """
    below_in = 0.0 if shared else _BELOW_IN
    total_in = sum(heights) + (_ABOVE_IN + below_in) * len(heights) + _BELOW_IN - below_in
    figure = Figure(figsize=(_WIDTH_IN, total_in))
    figure.patch.set_facecolor(paper)
    FigureCanvasSVG(figure)
    width = 1 - (_LEFT_IN + _RIGHT_IN) / _WIDTH_IN
    top_in, axes = total_in, list[Axes]()
    for row, height in enumerate(heights):
        top_in -= _ABOVE_IN + height
        place = (_LEFT_IN / _WIDTH_IN, top_in / total_in, width, height / total_in)
        axes.append(figure.add_axes(place, sharex=axes[0] if axes and shared else None))
        axes[row].patch.set_alpha(0)
        axes[row].tick_params(labelbottom=not shared or row == len(heights) - 1)
        top_in -= below_in
    return figure, axes


def _grid(count: int) -> tuple[Figure, list[Axes]]:
    """Return an empty figure with `count` small axes, two in a row, each with its own x."""
    rows = -(-count // 2)
    total_in = rows * _PANEL_IN + 0.1
    figure = Figure(figsize=(_WIDTH_IN, total_in))
    figure.patch.set_facecolor("none")
    FigureCanvasSVG(figure)
    axes = list[Axes]()
    for at in range(count):
        top_in = total_in - 0.1 - (at // 2) * _PANEL_IN
        left_in = 0.7 + (at % 2) * _WIDTH_IN / 2
        place = (
            left_in / _WIDTH_IN,
            (top_in - _PANEL_IN + 0.5) / total_in,
            0.5 - 0.85 / _WIDTH_IN,
            (_PANEL_IN - 0.8) / total_in,
        )
        axes.append(figure.add_axes(place))
        axes[at].patch.set_alpha(0)
    return figure, axes


def svg(
    name: str,
    heights: Sequence[float],
    draw: Sequence[Callable[[Axes], object]],
    x_label: str | Sequence[str],
    paper: str = "none",
) -> str:
    """Return a figure as SVG text; the same input gives the same bytes.

    Parameters
    ----------
    name : salts the ids, so that several figures may stand in one page.
    heights : of the axes, from the top [inch].
    draw : one function per axes that draws into it.
    x_label : of the common axis, with its unit; a sequence: of each axes, which share none.
    paper : colour behind it; a page has its own.
    """
    canvas = partial(_canvas, heights, paper, isinstance(x_label, str))
    return _as_svg(*_saved("svg", name, canvas, draw, x_label))


def panels(name: str, draw: Sequence[Callable[[Axes], object]], x_label: str) -> str:
    """Return a figure of small axes, two in a row, each over its own span, as `svg` does."""
    labels = [x_label] * min(2, len(draw))
    return _as_svg(*_saved("svg", name, partial(_grid, len(draw)), draw, labels))


def png(
    name: str, heights: Sequence[float], draw: Sequence[Callable[[Axes], object]], x_label: str
) -> bytes:
    """Return the figure that `svg` gives, on white, as PNG: for what shows pictures only."""
    return _saved("png", name, partial(_canvas, heights, "white"), draw, x_label)[0]


def _saved(
    form: str,
    name: str,
    canvas: Callable[[], tuple[Figure, list[Axes]]],
    draw: Sequence[Callable[[Axes], object]],
    x_label: str | Sequence[str],
) -> tuple[bytes, str]:
    """Return a figure as the bytes of a file of the kind `form`, and what it shows in words."""
    # From the libraries' own defaults: what a user's file or another library has set must not
    # show. matplotlib makes ids of how NumPy prints numbers, hence the second one.
    style = {**_SETTINGS, "svg.hashsalt": name}
    with matplotlib.style.context(["default", style]), np.printoptions(legacy=False):
        figure, axes = canvas()
        for into, each in zip(draw, axes, strict=True):
            into(each)
        labels = [x_label] if isinstance(x_label, str) else x_label
        for below, label in zip(axes[-len(labels) :], labels, strict=True):
            below.set_xlabel(label)
        buffer = io.BytesIO()
        # a library's version in the file is nothing that was found
        plain = {"Software": None} if form == "png" else None
        figure.savefig(buffer, format=form, dpi=_PNG_DPI, metadata=plain)
        said = _described(axes, x_label)
    return buffer.getvalue(), said


def _as_svg(drawn: bytes, said: str) -> str:
    """Return SVG text that repeats to the byte, with `said` for who can't see it."""
    text = drawn.decode()
    # neither a date nor a maker's address belongs in a figure that must repeat
    text = re.sub(r"<metadata>.*?</metadata>\s*", "", text, flags=re.DOTALL)
    text = re.sub(r"<!--.*?-->\s*", "", text, flags=re.DOTALL)
    head, begin, rest = text.partition("<svg")
    opened, end, body = rest.partition(">")
    return f'{head}{begin}{opened}{end}<desc id="desc">{escape(said)}</desc>{body}'


def _described(every: Sequence[Axes], x_label: str | Sequence[str]) -> str:
    """Return in words what the axes show, for who can't see them: each curve and each limit.

    What is drawn otherwise than by curves sets its own words as the label of its axes.
    """
    said = []
    for axes in every:
        limits = [text.get_text() for text in axes.texts if text.get_text()]
        if axes.get_label():
            rows = [axes.get_label()]
        else:
            named = [line for line in axes.get_lines() if str(line.get_label())[:1] != "_"]
            rows = [_said(line) for line in named]
        said.append(f"{axes.get_ylabel()}: " + "; ".join([*map(str, rows), *limits]))
    across = x_label if isinstance(x_label, str) else ", ".join(dict.fromkeys(x_label))
    return f"{'. '.join(said)}. Horizontal: {across}."


def _said(line: Line2D) -> str:
    values = np.asarray(line.get_ydata(), dtype=np.float64)
    first, last, low, high = (
        f"{value:.3g}" for value in (values[0], values[-1], np.nanmin(values), np.nanmax(values))
    )
    return f"{line.get_label()}: from {first} to {last}, between {low} and {high}"


def curves(
    axes: Axes,
    x: Values,
    lines: Iterable[Line],
    y_label: str,
    limits: Iterable[Limit] = (),
    held: bool = False,
) -> None:
    """Draw curves with a legend above the axes, and at most two limits with their names on them.

    `held` draws each value until the next: between the rows of a Trace nothing is made up.
    """
    lines = list(lines)
    for line in lines:
        style, width, opacity = _KINDS[line.kind]
        axes.plot(
            x,
            line.values,
            linestyle=style,
            drawstyle="steps-post" if held else "default",
            linewidth=width,
            alpha=opacity,
            color=COLOURS[line.colour],
            marker=line.marker or None,
            markersize=4.5,
            markerfacecolor="none",
            markevery=max(1, len(x) // 9),
            label=line.name,
        )
    for place, limit in enumerate(limits):
        axes.axhline(limit.value, color=COLOURS["ink"], linewidth=0.9, linestyle=(0, (1, 2)))
        axes.annotate(
            limit.name,
            (_LIMIT_NAMES_AT[place], limit.value),
            xycoords=("axes fraction", "data"),
            # the second name hangs below its line: two close limits don't strike each other out
            xytext=(0, -2 if place else 2),
            textcoords="offset points",
            ha="right",
            va="top" if place else "bottom",
            fontsize=8.5,
        )
    axes.margins(x=0, y=0.1)
    axes.set_ylabel(y_label)
    axes.legend(
        loc="lower left",
        bbox_to_anchor=(-0.01, 1.0),
        ncols=2 if len(lines) == 4 else 3,
        borderaxespad=0.2,
        fontsize=8.5,
    )


def strip(axes: Axes, x: Values, codes: Values, names: Sequence[str], y_label: str) -> None:
    """Draw which of `names` holds over time: one row for each that occurs, named at the left."""
    whole = codes.astype(int)
    shown = sorted(set(whole.tolist()))
    ends = np.append(x[1:], x[-1])
    for row, each in enumerate(reversed(shown)):
        here = whole == each
        spans = [(float(b), float(e - b)) for b, e in zip(x[here], ends[here], strict=True)]
        axes.broken_barh(_merged(spans), (row - 0.36, 0.72), facecolors=COLOURS["blue"])
    lengths = [(names[code], float((ends - x)[whole == code].sum())) for code in shown]
    axes.set_label(", ".join(f"{name.replace('_', ' ')} {held:.3g}" for name, held in lengths))
    axes.set_yticks(range(len(shown)), [names[code].replace("_", " ") for code in reversed(shown)])
    axes.set_ylim(-0.6, len(shown) - 0.4)
    axes.set_xlim(x[0], x[-1])
    axes.grid(axis="y", visible=False)
    axes.set_ylabel(y_label)


def _merged(spans: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return (begin, length) spans with neighbours joined."""
    joined: list[tuple[float, float]] = []
    for begin, length in spans:
        if joined and abs(sum(joined[-1]) - begin) < 1e-9:
            joined[-1] = (joined[-1][0], begin + length - joined[-1][0])
        else:
            joined.append((begin, length))
    return joined


def path(axes: Axes, x: Values, y: Values, name: str) -> None:
    """Draw where a run went over the plane, a ring at its begin and a square at its end."""
    style: dict[str, Any] = {"color": COLOURS["red"], "markerfacecolor": "none", "markersize": 6}
    axes.plot(x, y, linewidth=1.3, label=name, **style)
    axes.plot(x[:1], y[:1], marker="o", linestyle="none", label="_begin", **style)
    axes.plot(x[-1:], y[-1:], marker="s", linestyle="none", label="_end", **style)


def event_marks(axes: Axes, marks: Iterable[tuple[float, str]]) -> None:
    """Draw a thin upright line with its text for each (x, text) inside the axes.

    The texts stand on three heights in turn, so that two of them beside each other can be read.
    """
    low, high = axes.get_xlim()
    for number, (at, text) in enumerate(marks):
        if not low <= at <= high:
            continue
        axes.axvline(at, color=COLOURS["ink"], linewidth=0.8)
        right = at > low + 0.7 * (high - low)
        axes.annotate(
            text,
            (at, 0.5 - 0.13 * (number % 3)),
            xycoords=("data", "axes fraction"),
            xytext=(-3 if right else 3, 0),
            textcoords="offset points",
            ha="right" if right else "left",
            va="center",
            fontsize=8.5,
        )


def inline(text: str, name: str, label: str) -> str:
    """Return SVG text for a page: ids of its own, colours as style variables, spoken texts.

    `label` names it; the words that `svg` made of its curves describe it.
    """
    box = re.search(r'viewBox="[^"]*"', text)
    assert box is not None
    body = text[text.index("<svg") :].partition(">")[2]
    body = body.replace("xlink:href", "href")
    body = re.sub(r'\bid="', f'id="{name}-', body)
    body = body.replace('href="#', f'href="#{name}-').replace("url(#", f"url(#{name}-")
    for colour, value in COLOURS.items():
        body = body.replace(value, f"var(--{colour})")
    spoken = f'role="img" aria-label="{escape(label)}" aria-describedby="{name}-desc"'
    return f"<svg {box.group()} {spoken}>{body}"
