"""What every figure is drawn with: wires, dots, boxes, words, and a build's values by mark."""

from itertools import pairwise

import schemdraw
import schemdraw.elements as e
from bill import bill

from diodewright.build import load

__all__ = ["Drawing", "Point", "arrow", "box", "dot", "room", "text", "values", "wire"]

Drawing = schemdraw.Drawing
Point = tuple[float, float]


def values(name: str) -> dict[str, str]:
    """Return mark -> value of a shipped build, the first row of each mark."""
    found: dict[str, str] = {}
    for item in bill(load(name)):
        found.setdefault(item.ref, item.value)
    return found


def wire(d: Drawing, *points: Point) -> None:
    """Draw a line through `points`."""
    for begin, end in pairwise(points):
        d.add(e.Line().at(begin).to(end))


def arrow(d: Drawing, *points: Point) -> None:
    """Draw a line through `points` with a head at its end."""
    wire(d, *points[:-1])
    d.add(e.Arrow().at(points[-2]).to(points[-1]))


def text(d: Drawing, at: Point, words: str, *, align: str = "center") -> None:
    """Write small words around `at`, or beside it: `align` "left" begins there."""
    label = e.Label().theta(0).at(at)
    d.add(label.label(words, loc="center", fontsize=10, halign=align, valign="center"))


def dot(d: Drawing, *points: Point) -> None:
    """Mark where wires join."""
    for at in points:
        d.add(e.Dot().at(at))


def box(d: Drawing, left: float, bottom: float, right: float, top: float, words: str) -> None:
    """Draw a box with words in its middle."""
    wire(d, (left, bottom), (right, bottom), (right, top), (left, top), (left, bottom))
    text(d, ((left + right) / 2, (bottom + top) / 2), words)


def room(d: Drawing, *points: Point) -> None:
    """Make the figure reach `points`: words beside a point are not counted in its size."""
    for at in points:
        d.add(e.Dot(radius=0.001).at(at))
