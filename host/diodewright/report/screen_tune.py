"""What `tune` prints of one choice: the change in every figure, and what it must hold."""

import dataclasses
from collections.abc import Mapping

from diodewright.build import Build
from diodewright.build.problems import show
from diodewright.report.terminal import block, command, print_json, screen, table
from diodewright.report.wording import left, number, prose, unit_text
from diodewright.tune.compared import Change, Moved, changes, moved
from diodewright.tune.evaluate import Evaluation
from diodewright.tune.problems import TuneError

__all__ = ["show_choice"]

_DIGITS = 4
#: So many constraints that only moved are told; what fails is told whole.
_MOST = 8
_LIMITS = (
    "typical parts in one use; 60 faults at two moments; four tolerance corners; "
    "`rehearse` judges the whole"
)


def show_choice(build: Build, now: Evaluation, chosen: Evaluation, as_json: bool) -> int:
    """Print a choice against the current settings; return 0 where it holds, else 1.

    Raises
    ------
    TuneError
        Build or board do not take the choice; with their words.
    """
    if chosen.refusal:
        raise TuneError(chosen.refusal)
    if as_json:
        print_json(
            {
                "build": build.name,
                "verdict": "HOLDS" if chosen.holds else "FAILS",
                "now": now.as_dict(),
                "chosen": chosen.as_dict(),
                "changes": [
                    dataclasses.asdict(row) | {"by": row.by} for row in changes(now, chosen)
                ],
            }
        )
    else:
        _as_text(build, now, chosen)
    return 0 if chosen.holds else 1


def _as_text(build: Build, now: Evaluation, chosen: Evaluation) -> None:
    out = screen()
    verdict, style = ("HOLDS", "bold green") if chosen.holds else ("FAILS", "bold red")
    out.print(f"{verdict}  {build.name} with {_said(chosen.values)}", style=style)
    out.print()
    rows = [_figure(row) for row in changes(now, chosen)]
    table(out, ("figure", "now", "chosen", "change", "unit"), rows)
    out.print()
    found = moved(now, chosen)
    broken = [row for row in found if not (row.chosen and row.chosen.holds)]
    told = [*broken, *[row for row in found if row not in broken][:_MOST]]
    if told:
        table(out, ("constraint", "now", "chosen", "limit", "margin"), [_row(row) for row in told])
    hidden = len(found) - len(told)
    if hidden:
        block(out, "", [f"and {hidden} more that moved and hold (--json has all)"])
    for each in broken:
        row = each.row
        at = f" ({row.where})" if row.where else ""
        mend = f"; mend: {row.mend}" if row.mend else ""
        block(out, "FAILS", [prose(f"{row.id}: {row.meaning}{at}{mend}")], "bold")
    if not now.holds:
        fails = ", ".join(row.id for row in now.broken)
        block(out, "now", [f"the current settings themselves fail: {fails}"])
    block(out, "runs", [f"{now.runs + chosen.runs} closed-loop simulations"])
    block(out, "limits", [_LIMITS])
    block(out, "next", ["the whole judgement, once the build file says so:"])
    command(out, f"diodewright rehearse {build.file}")


def _said(values: Mapping[str, object]) -> str:
    return ", ".join(f"{key} = {show(value)}" for key, value in values.items()) or "nothing changed"


def _figure(row: Change) -> tuple[str, str, str, str, str]:
    by = "" if row.by is None or _same(row) else f"{row.by:+.3g}"
    return (
        row.id,
        _number(row.now),
        _number(row.chosen),
        by,
        unit_text(row.unit),
    )


def _same(row: Change) -> bool:
    """Say whether both read the same in the digits that are shown."""
    return _number(row.now) == _number(row.chosen)


def _number(value: float | None) -> str:
    return "-" if value is None else number(value, _DIGITS)


def _row(each: Moved) -> tuple[str, str, str, str, str]:
    row = each.row
    bound = "at least" if row.sense == "at_least" else "at most"
    now = None if each.now is None else each.now.value
    chosen = None if each.chosen is None else each.chosen.value
    margin = "not looked at" if each.chosen is None else left(row.margin)
    limit = f"{bound} {number(row.limit, _DIGITS)} {unit_text(row.unit)}".rstrip()
    return row.id, _number(now), _number(chosen), limit, margin
