"""What a front prints: a table with a name a setting, and the figure and document beside it."""

import json
from functools import partial
from pathlib import Path
from typing import Any

from diodewright.report.figure_front import front_figure
from diodewright.report.files import write_together
from diodewright.report.terminal import block, command, print_json, screen, table
from diodewright.report.wording import label, number, unit_text
from diodewright.tune.front import LEAST_POINTS, Point
from diodewright.tune.job import Job
from diodewright.tune.picks import FILE, front_dict
from diodewright.tune.wishes import WISHES

__all__ = ["show_front"]

_DIGITS = 5


def show_front(
    job: Job, other: str, points: tuple[Point, ...], out: Path | None, as_json: bool
) -> int:
    """Print a front, and write figure and document into `out`; return the exit code.

    0 where there is a front, or one setting that is best for both; 1 where nothing holds.

    Raises
    ------
    CannotWrite
        The folder can't be made or written.
    """
    document = front_dict(job, other, points)
    written = _write(document, out) if out is not None and points else []
    if as_json:
        print_json(document)
    else:
        _as_text(job, other, points, written, out)
    return 0 if points else 1


def _write(document: dict[str, Any], out: Path) -> list[Path]:
    text = json.dumps(document, indent=1, allow_nan=False, ensure_ascii=False) + "\n"
    files = {FILE: text}
    if len(document["points"]) > 1:
        files["front.svg"] = front_figure(document)
    writers = {name: partial(_put, text=held) for name, held in files.items()}
    return write_together(out, writers)


def _put(path: Path, text: str) -> None:
    path.write_bytes(text.encode())


def _as_text(
    job: Job, other: str, points: tuple[Point, ...], written: list[Path], folder: Path | None
) -> None:
    out = screen()
    first, second = WISHES[job.asked.wish], WISHES[other]
    if not points:
        block(out, "FAILS", ["no setting holds all that must hold: no front"], "bold red")
        return
    out.print(f"{job.build.name}: {first.meaning}, against {second.meaning}", style="bold")
    out.print()
    moved = {path for point in points for path in job.looks.problem.values(point.at)}
    keys = [dial for dial in job.looks.problem.dials if dial.path in moved]
    heads = ("name", *(f"{label(w.figure)} [{unit_text(w.unit)}]" for w in (first, second)))
    rows = [
        (
            point.name,
            number(point.look.figures[first.figure], _DIGITS),
            number(point.look.figures[second.figure], _DIGITS),
        )
        for point in points
    ]
    table(out, heads, rows)
    out.print()
    if len(points) < LEAST_POINTS:
        said = "one setting is the best for both wishes" if len(points) == 1 else ""
        said = (
            said or f"{len(points)} settings that differ: the wishes are hardly against each other"
        )
        block(out, "front", [said])
    block(
        out, "keys", [f"moved by some of them: {', '.join(dial.path for dial in keys) or 'none'}"]
    )
    block(out, "runs", [f"{job.looks.simulations} closed-loop simulations, seed {job.asked.seed}"])
    block(out, "limits", ["each setting holds at search depth; the judges hear the one you pick"])
    for path in written:
        block(out, "written", [str(path)])
    block(out, "next", ["pick one by its name; --write writes it:"])
    where = folder if folder is not None else "DIR"
    command(out, f"diodewright tune {job.build.file} --pick {points[0].name} --out {where}")
