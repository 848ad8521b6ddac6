"""The size summary: limits first, the tightest on top, then figures by topic, then two tables."""

import dataclasses
import math
from collections.abc import Iterable, Sequence
from typing import Any

from rich.console import Console

from diodewright.build import Build
from diodewright.derive.electrics import highest_level_A
from diodewright.report.facts import rehearse_command
from diodewright.report.terminal import block, command, print_json, screen, table
from diodewright.report.wording import label, left, number, prose, quantity
from diodewright.size import (
    Descent,
    Figure,
    LifeRow,
    Limit,
    Marked,
    MountRow,
    against_drive,
    cold_to_hot,
    descend,
    marked,
    over_current,
    told,
    topics,
)
from diodewright.size.life import WARNING

__all__ = ["show_size"]

_LIMITS = (
    "typical values at the highest level, not corners, but where a line says so",
    "a margin is the part of the limit that is left; runs and faults are judged by rehearse, and "
    "so is what happens within microseconds",
    "a change is tried alone, on the whole build; changes are not equally dear",
)
_TITLES = {
    "electrical": "Where the watts go, full pack, mount at ambient",
    "light": "Light",
    "heat": "Heat and time",
    "pack": "Pack",
    "contacts": "Trigger and gate",
    "wiring": "Wires and fuse",
    "life": "Life against drive",
}
#: Limits closer than this are said in words.
_CLOSE = 0.1
_MOST_DIGITS = 6
#: Columns of the two tables: field, head, digits.
_DESCENT = (
    ("charge_pct", "charge %", 3),
    ("pack_V", "pack V", 4),
    ("pack_A", "pack A", 3),
    ("headroom_V", "spare V", 3),
    ("diode_A", "diode A", 3),
    ("light_W", "light W", 3),
    ("light_lm", "lm", 3),
    ("light_s", "min so far", 3),
)
_MOUNTS = (
    ("mount_degC", "mount °C", 3),
    ("current_A", "allowed A", 3),
    ("forward_V", "forward V", 3),
    ("light_W", "light W", 3),
    ("light_lm", "lm", 3),
    ("heat_W", "heat W", 3),
    ("junction_degC", "junction °C", 3),
)
_UNLIT = {"light_W", "light_lm"}


def show_size(build: Build, as_json: bool) -> None:
    """Print what the build draws, gives and endures, with what each figure leaves out."""
    by_topic, rows = topics(build), marked(build)
    down, mounts = descend(build), cold_to_hot(build)
    lives = against_drive(build)
    if as_json:
        print_json(_document(build, by_topic, rows, down, mounts, lives))
        return
    out = screen()
    out.print(f"{build.name}: {build.purpose}", style="bold")
    _limit_rows(out, rows)
    notes: dict[str, int] = {}
    for topic, figures in by_topic.items():
        if figures:
            _topic(out, _TITLES[topic], figures, notes)
            if topic == "life":
                _lives(out, lives)
    _tables(out, build, down, mounts)
    said = "; ".join(f"[{mark}] {prose(note)}" for note, mark in notes.items())
    block(out, "notes", [f"what figures leave out: {said}"])
    block(out, "limits", _LIMITS)
    block(out, "assumed", [f"{len(build.assumed)} values that the build file did not give"])
    block(out, "next", ["rehearse it: use and every fault, judged"])
    command(out, rehearse_command(build.file, 1))


def _limit_rows(out: Console, rows: Sequence[Marked]) -> None:
    """Print each limit with its margin and what buys most; the close ones in words as well."""
    cells = [
        (
            label(each.row.id),
            *_apart(each.row),
            _margin(each.row.margin),
            _bought(each),
        )
        for each in rows
    ]
    table(out, ("limit", "value", "allowed", "margin", "what buys most"), cells)
    close = [each.row for each in rows if each.row.margin < _CLOSE]
    said = [f"{label(row.id)}: {prose(row.meaning)}" for row in close]
    block(out, "closest", said or [f"none has less than {100 * _CLOSE:g} % left"])


def _apart(row: Limit) -> tuple[str, str]:
    """Return value and limit as text, with digits enough to tell them apart."""
    digits = 3
    while digits < _MOST_DIGITS and number(row.value, digits) == number(row.limit, digits):
        digits += 1
    limit = f"{row.sense.replace('_', ' ')} {number(row.limit, digits)}"
    return quantity(row.value, row.unit, digits if row.value != row.limit else 3), limit


def _margin(margin: float) -> str:
    return f"{number(100 * margin)} %" if margin >= 0 else left(margin)


def _bought(each: Marked) -> str:
    if not each.buys:
        return "-"
    best = each.buys[0]
    return f"{best.step}: {_margin(best.margin)}"


def _topic(out: Console, title: str, figures: Iterable[Figure], notes: dict[str, int]) -> None:
    out.print()
    cells = [
        (
            label(figure.id),
            quantity(figure.value if math.isfinite(figure.value) else None, figure.unit),
            prose(figure.meaning) + _mark(figure.leaves_out, notes),
        )
        for figure in figures
    ]
    out.print(title, style="bold")
    table(out, ("figure", "value", "at which point"), cells)


def _mark(note: str, notes: dict[str, int]) -> str:
    return f" [{notes.setdefault(note, len(notes) + 1)}]" if note else ""


def _lives(out: Console, rows: Iterable[LifeRow]) -> None:
    cells = [
        (
            quantity(row.current_A, "A"),
            quantity(row.junction_degC, "degC"),
            f"{number(row.low_pct / 100, 2)} to {number(row.high_pct / 100, 2)} times",
        )
        for row in rows
    ]
    table(out, ("drive", "junction", "life, of that at the rating"), cells)
    block(out, "caution", [WARNING])


def _columns(out: Console, build: Build, columns: Any, rows: Sequence[Any]) -> None:
    """Print rows of numbers; a dummy has no column of light."""
    dummy = build.diode.kind == "dummy_string"
    shown = [each for each in columns if not (dummy and each[0] in _UNLIT)]
    cells = [
        [number(_scaled(field, getattr(row, field)), digits) for field, _, digits in shown]
        for row in rows
    ]
    table(out, [head for _, head, _ in shown], cells)


def _scaled(field: str, value: float) -> float:
    return value / 60 if field == "light_s" else value


def _tables(out: Console, build: Build, down: Descent | None, mounts: Sequence[MountRow]) -> None:
    if down is not None:
        out.print()
        out.print("Discharge at the highest level, mount at ambient", style="bold")
        _columns(out, build, _DESCENT, told(down))
        block(out, "", [f"ends after {number(down.light_s / 60)} min: {down.ends}"])
    out.print()
    out.print("From cold to hot, at what thermal cutback allows", style="bold")
    _columns(out, build, _MOUNTS, mounts)


def _document(
    build: Build,
    by_topic: dict[str, list[Figure]],
    rows: Sequence[Marked],
    down: Descent | None,
    mounts: Sequence[MountRow],
    lives: Sequence[LifeRow],
) -> dict[str, Any]:
    """Return the summary as plain values; a figure that never comes is None."""
    figures = [dataclasses.asdict(each) for of in by_topic.values() for each in of]
    for row in figures:
        row["value"] = row["value"] if math.isfinite(row["value"]) else None
    return {
        "build": {"name": build.name, "fingerprint": build.fingerprint},
        "size": figures,
        "topics": {topic: [each.id for each in of] for topic, of in by_topic.items()},
        "limits": [
            dataclasses.asdict(each.row)
            | {"margin": each.row.margin}
            | {"buys": [dataclasses.asdict(best) for best in each.buys]}
            for each in rows
        ],
        "discharge": dataclasses.asdict(down) if down else None,
        "cold_to_hot": [dataclasses.asdict(row) for row in mounts],
        "over_current": {
            "chosen_A": highest_level_A(build),
            "rows": [dataclasses.asdict(row) for row in over_current(build)],
        },
        "life": {"warning": WARNING, "rows": [dataclasses.asdict(row) for row in lives]},
        "leaves_out": list(_LIMITS),
        "assumed": [dataclasses.asdict(row) for row in build.assumed],
    }
