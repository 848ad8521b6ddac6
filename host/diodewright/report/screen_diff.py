"""What moved: two builds, or two results, side by side."""

import dataclasses
import math
import os
from collections.abc import Iterable
from itertools import groupby, takewhile
from pathlib import Path
from typing import Any

from diodewright.build import BuildErrors, Problem, load
from diodewright.build.plain_file import Unreadable, printable, read_text
from diodewright.compare import Move, moved_between_builds, moved_between_documents
from diodewright.compare.move import Value
from diodewright.report.reading import MOST_BYTES, read_document
from diodewright.report.terminal import block, print_json, screen, table
from diodewright.report.wording import number, unit_text

__all__ = ["show_diff"]

_SHOWN = 44
_DIGITS = 4
_MOST_DIGITS = 12


def show_diff(a: str, b: str, as_json: bool) -> int:
    """Print what moved from `a` to `b`; return 0 where nothing did, else 1.

    Parameters
    ----------
    a, b : two builds (files or shipped examples), or two documents of ``rehearse --json``.

    Raises
    ------
    BuildErrors, BadDocument, DerivedError
        One of them can't be used, or one is a build and the other a result.
    """
    kind = _kind(a, b)
    if kind == "builds":
        build_a, build_b = load(a), load(b)
        moves = moved_between_builds(build_a, build_b)
        names = (build_a.name, build_b.name)
    else:
        done_a, done_b = read_document(Path(a)), read_document(Path(b))
        moves = moved_between_documents(done_a, done_b)
        of = (f"{done.build['name']}, {done.verdict}" for done in (done_a, done_b))
        names = (next(of), next(of))
    if as_json:
        print_json({"compared": kind, "a": a, "b": b, "moved": [_plain(each) for each in moves]})
    else:
        _as_text(kind, (a, b), names, moves)
    return 1 if moves else 0


def _kind(a: str, b: str) -> str:
    """Return "builds" or "results"; BuildErrors where there is one of each."""
    results = [_is_result(a), _is_result(b)]
    if results[0] != results[1]:
        build, result = (b, a) if results[0] else (a, b)
        wrong = f"is a build, but {printable(result)} is the result of a rehearsal"
        mend = f"write `diodewright rehearse {printable(build)} --json` to a file and give that"
        raise BuildErrors((Problem(build, None, "", "", wrong, mend=mend),))
    return "results" if results[0] else "builds"


def _is_result(name: str) -> bool:
    """Return whether `name` is meant for a document: by its ending, or by how its text begins.

    A name that `load` would take for an example is one, whatever lies in the folder.
    """
    if name.endswith((".json", ".toml")):
        return name.endswith(".json")
    if os.sep not in name:
        return False
    if Path(name).is_dir():
        return True
    try:
        return read_text(name, MOST_BYTES).lstrip()[:1] == "{"
    except (Unreadable, OSError):
        return False


def _plain(move: Move) -> dict[str, Any]:
    values = dataclasses.asdict(move)
    for side in ("a", "b"):
        if isinstance(values[side], float) and not math.isfinite(values[side]):
            values[side] = None
    return values


def _as_text(
    kind: str, files: tuple[str, str], names: tuple[str, str], moves: tuple[Move, ...]
) -> None:
    out = screen()
    for side, file, name in zip("AB", files, names, strict=True):
        block(out, side, [printable(f"{file} ({name})")], "bold")
    for part, of in groupby(moves, key=lambda move: move.part):
        rows = [_cells(move) for move in of]
        out.print()
        table(out, (part, "A", "B", "B - A", "unit"), rows)
    if moves:
        block(out, "moved", [f"{len(moves)} (exit 1): {_counted(moves)}"], "bold")
    else:
        block(out, "moved", ["nothing (exit 0)"], "bold")
    if kind == "builds":
        block(out, "limits", ["typical values at the highest level; nothing is judged here"])


def _counted(moves: Iterable[Move]) -> str:
    parts: dict[str, int] = {}
    for move in moves:
        parts[move.part] = parts.get(move.part, 0) + 1
    return ", ".join(f"{part} {count}" for part, count in parts.items())


def _cells(move: Move) -> tuple[str, str, str, str, str]:
    name = f"{move.item}: {move.figure}" if move.figure else move.item
    a, b = _both(move)
    by = "" if move.difference is None else f"{move.difference:+.4g}"
    return printable(name), a, b, by, unit_text(move.unit)


def _both(move: Move) -> tuple[str, str]:
    """Return both values as text, numbers with digits enough to tell them apart."""
    digits = _DIGITS
    while digits < _MOST_DIGITS and _text(move.a, digits) == _text(move.b, digits):
        digits += 1
    a, b = _text(move.a, digits), _text(move.b, digits)
    # long texts are shown from a little before the place where they part
    same = sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], zip(a, b, strict=False)))
    long = move.where == "both" and max(len(a), len(b)) > _SHOWN
    start = max(0, same - _SHOWN // 3) if long else 0
    return (
        "-" if move.where == "B" else _shortened(a, start),
        "-" if move.where == "A" else _shortened(b, start),
    )


def _shortened(text: str, start: int) -> str:
    text = f"...{text[start:]}" if start else text
    return text if len(text) <= _SHOWN else f"{text[: _SHOWN - 3]}..."


def _text(value: Value, digits: int) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return printable(value)
    if isinstance(value, tuple):
        return "; ".join(" ".join(f"{each:g}" for each in row) for row in value)
    if value is None or math.isfinite(value):
        return number(value, digits)
    return "not asked" if math.isnan(value) else "never"
