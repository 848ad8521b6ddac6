"""What `tune --scan` prints: a table of places, what is against each, and where the figure lies."""

import math
from collections.abc import Iterator
from pathlib import Path

from diodewright.build import Build
from diodewright.report.figure_scan import scan_figure, scan_image
from diodewright.report.files import write_together
from diodewright.report.terminal import block, print_json, screen, table
from diodewright.report.wording import number, unit_text
from diodewright.tune.scan import Place, Scan

__all__ = ["show_scan"]

#: Figures of the table: id, head.
_SHOWN = (
    ("light_first_minute_W", "first W"),
    ("light_sustained_W", "last W"),
    ("before_cutback_s", "full s"),
    ("pack_min", "pack min"),
    ("start_A_s", "rise A/s"),
)
#: A figure that moves by less than this part is not told.
_LEAST = 0.002
_LIMITS = "what `tune --set` looks at, place by place; between places nothing is known"


def show_scan(build: Build, found: Scan, figure: str, out: Path | None, as_json: bool) -> int:
    """Print a scan, draw it into `out` where that is a folder; return 0 where any place holds.

    Raises
    ------
    CannotWrite
        The folder can't be made or written.
    """
    written = [] if out is None else _written(found, figure, out)
    held = [place for place in found.places if not place.binds]
    if as_json:
        print_json(
            {
                "build": build.name,
                "keys": [axis.key.path for axis in found.axes],
                "units": [axis.key.unit for axis in found.axes],
                "now": [axis.key.start for axis in found.axes],
                "runs": found.runs,
                "places": [
                    {"at": list(place.at), "binds": place.binds, **place.seen.as_dict()}
                    for place in found.places
                ],
                "files": [str(path) for path in written],
            }
        )
    else:
        _as_text(build, found, figure, held, written)
    return 0 if held else 1


def _written(found: Scan, figure: str, out: Path) -> list[Path]:
    name = "scan-" + "-".join(axis.key.path for axis in found.axes)
    drawn, image = scan_figure(found, figure), scan_image(found, figure)
    return write_together(
        out,
        {
            f"{name}.svg": lambda path: path.write_text(drawn, encoding="utf-8"),
            f"{name}.png": lambda path: path.write_bytes(image),
        },
    )


def _as_text(
    build: Build, found: Scan, figure: str, held: list[Place], written: list[Path]
) -> None:
    out = screen()
    keys = " and ".join(axis.key.path for axis in found.axes)
    style = "bold green" if held else "bold red"
    said = f"{len(held)} of {len(found.places)} places hold"
    out.print(f"{build.name}: {keys}: {said}", style=style)
    out.print()
    shown = [row for row in _SHOWN if _moves(found, row[0])]
    if len(found.axes) == 2:
        shown = [(figure, dict(_SHOWN).get(figure, figure))]
    heads = [axis.key.path.rpartition(".")[2] for axis in found.axes]
    heads += [head for _, head in shown]
    rows = [_row(found, place, [id for id, _ in shown]) for place in found.places]
    table(out, (*heads, "left", "against it"), rows)
    for id, head in shown:
        block(out, head, [next(_meanings(found, id), "")])
    for axis in found.axes:
        block(out, "now", [f"{axis.key.path} = {axis.key.start:g} {unit_text(axis.key.unit)}"])
    block(out, "runs", [f"{found.runs} closed-loop simulations"])
    block(out, "limits", [_LIMITS])
    block(out, "written", [str(path) for path in written])


def _meanings(found: Scan, id: str) -> Iterator[str]:
    for place in found.places:
        yield from (row.meaning for row in place.seen.figures if row.id == id)


def _moves(found: Scan, id: str) -> bool:
    """Say whether a figure moves along the scan; one that stays says nothing."""
    known = [value for value in found.figure(id) if not math.isnan(value)]
    return bool(known) and max(known) - min(known) > _LEAST * abs(max(known))


def _row(found: Scan, place: Place, shown: list[str]) -> tuple[str, ...]:
    figures = {row.id: row.value for row in place.seen.figures}
    values = ["-" if id not in figures else number(figures[id], 4) for id in shown]
    tightest = place.seen.tightest
    left = "-" if tightest is None or tightest.margin is None else f"{100 * tightest.margin:.1f} %"
    now = all(at == axis.key.start for at, axis in zip(place.at, found.axes, strict=True))
    at = [f"{value:g}" for value in place.at]
    return (*at[:-1], at[-1] + (" now" if now else ""), *values, left, place.binds or "-")
