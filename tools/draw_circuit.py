"""Draw the reference circuit: SVG figures of hardware_notes, with the shipped builds' values.

``python tools/draw_circuit.py`` writes them; with ``--check`` it only says which are stale. The
same marks stand in values.md, the bills and the pages. The drawing library's own SVG has neither
date nor random names: the same figure is the same file.
"""

import sys
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT / "tools")]

import schemdraw  # noqa: E402
from draw_guards import enable, guards  # noqa: E402
from draw_logic import readings, set_path, supply  # noqa: E402
from draw_power import buck, gated, linear  # noqa: E402
from page import write_or_check  # noqa: E402

FIGURES = ROOT / "hardware_notes" / "figures"
#: figure -> (what draws it, title for who can't see it)
DRAWN: dict[str, tuple[Callable[[schemdraw.Drawing], None], str]] = {
    "buck": (buck, "Power path with a buck stage"),
    "linear": (linear, "Power path with a linear stage"),
    "gated": (gated, "Power path with a module of fixed current"),
    "guards": (guards, "Comparators, latch, and the gate that needs all"),
    "enable": (enable, "Dynamic enable"),
    "set_path": (set_path, "Set path"),
    "supply": (supply, "Supply of the controller, supervisor, interlock and key"),
    "readings": (readings, "Readings"),
}


def svg(name: str) -> str:
    """Return one figure as text."""
    draw, title = DRAWN[name]
    drawing = schemdraw.Drawing(canvas="svg", show=False)
    drawing.config(unit=2.4, lw=1.4, fontsize=12, font="sans-serif", bgcolor="white", margin=0.4)
    draw(drawing)
    text = drawing.get_imagedata("svg").decode("utf-8")
    head, tag, rest = text.partition("<svg")
    opening, end, body = rest.partition(">")
    return f'{head}{tag}{opening} role="img"{end}\n<title>{title}</title>{body}\n'


if __name__ == "__main__":
    sys.exit(max(write_or_check(FIGURES / f"{name}.svg", svg(name)) for name in DRAWN))
