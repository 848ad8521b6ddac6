"""What a tuning prints: what moved, what it gives, what binds it and at which price, the judges."""

import dataclasses
import math
from typing import Any

from rich.console import Console

from diodewright.build.edit import Edit
from diodewright.report.terminal import block, command, print_json, screen, table
from diodewright.report.wording import label, number, prose, quantity, unit_text
from diodewright.tune.choice import Look, Row, missed
from diodewright.tune.job import Job, Result
from diodewright.tune.why import PartPrice, Price
from diodewright.tune.wishes import WISHES

__all__ = ["show_tuned", "verdict_of"]

_DIGITS = 4
_LIMITS = (
    "typical parts in one use, 60 faults at two moments, four tolerance corners; then one whole "
    "rehearsal and the proof; prices are slopes there, good for small changes"
)
#: Below this part of the figure a price is not told.
_LEAST_PRICE = 1e-4
#: A figure's slope that prices leave unexplained is told from here on.
_LEFT = 0.1


def verdict_of(done: Result) -> tuple[int, str]:
    """Return exit code and verdict: of the judges, or what stands in the way of them."""
    of = done.tuned
    if of.verified is None:
        return 1, "FAILS"
    if of.holds:
        return 0, "HOLDS"
    return (3, "INCOMPLETE") if of.verified.verdict == "INCOMPLETE" else (1, "FAILS")


def show_tuned(
    job: Job, done: Result, edit: Edit | None, assumed: bool, written: str | None, as_json: bool
) -> int:
    """Print a tuning; return the exit code.

    Parameters
    ----------
    edit : what would be written; None where nothing moved or nothing may be written.
    assumed : the wish was not said.
    written : where the old file is kept; None where nothing was written.
    """
    code, verdict = verdict_of(done)
    if as_json:
        print_json(_document(job, done, edit, assumed, written, verdict))
        return code
    out = screen()
    style = "bold green" if code == 0 else "bold red"
    wish = WISHES[job.asked.wish]
    out.print(f"{verdict}  {job.build.name}, tuned for {wish.meaning}", style=style)
    if assumed:
        block(out, "wish", [f"none was said: {job.asked.wish} is assumed, and nothing is written"])
    _figures(out, done)
    _moved(out, job, done)
    _held(out, job, done)
    _judges(out, job, done)
    block(out, "runs", [_runs(job)])
    block(out, "limits", [_LIMITS])
    _change(out, job, edit, written)
    return code


def _runs(job: Job) -> str:
    kept = f", {job.looks.resumed} looks of them kept from before" if job.looks.resumed else ""
    return (
        f"{job.looks.simulations} closed-loop simulations for {job.looks.count} looks at settings, "
        f"seed {job.asked.seed}{kept}"
    )


def _figures(out: Console, done: Result) -> None:
    was, now = done.tuned.found.start_look.figures, done.tuned.found.look.figures
    rows = []
    for name in dict.fromkeys((*now, *was)):
        unit = unit_text(name.rpartition("_")[2])
        told = [number(look.get(name), _DIGITS) if name in look else "" for look in (was, now)]
        by = f"{now[name] - was[name]:+.3g}" if name in was and name in now else ""
        rows.append((label(name), *told, by if by not in ("+0", "-0") else "", unit))
    if rows:
        out.print()
        table(out, ("figure", "now", "tuned", "change", "unit"), rows)
        out.print()


def _moved(out: Console, job: Job, done: Result) -> None:
    found, problem = done.tuned.found, job.looks.problem
    rows = [
        (dial.path, _given(dial.given(dial.start)), _given(dial.given(at)), unit_text(dial.unit))
        for dial, at in zip(problem.dials, found.at, strict=True)
        if at != dial.start
    ]
    if rows:
        table(out, ("key", "now", "tuned", "unit"), rows)
        out.print()
    else:
        block(out, "keys", ["nothing better was found: the settings stay as they are"])


def _given(value: float) -> str:
    return f"{value:.7g}"


def _held(out: Console, job: Job, done: Result) -> None:
    """Say what the settings miss, or what binds them and what that costs."""
    for row in done.tuned.missing:
        block(out, "misses", [_row_said(row)], "bold red")
    start_misses = missed(done.tuned.found.start_look, done.tuned.aim)
    if start_misses and not done.tuned.missing:
        said = ", ".join(row.id for row in start_misses)
        block(out, "before", [f"the settings as they were miss: {said}"])
    if done.why is None:
        return
    for price in done.why.prices:
        block(
            out, "binds", [f"{_row_said(price.row)}: {_bought(job, price, done.tuned.found.look)}"]
        )
    for bound in done.why.bounds:
        block(out, "binds", [f"{bound.path} stands at the {bound.end} that is searched"])
    for wall in done.why.walls:
        ways = [f"less: {_refusal(job, wall.less)}", f"more: {_refusal(job, wall.more)}"]
        block(out, "held", [f"{wall.path} can't be moved alone", *ways])
    if not done.why.prices and not done.why.bounds and not done.why.walls:
        block(out, "binds", ["nothing: the figure is flat there"])
    if done.why.left > _LEFT and (done.why.prices or done.why.bounds):
        share = f"{100 * done.why.left:.0f} %"
        block(
            out, "", [f"{share} of the figure's slope is explained by no price (a kink or noise)"]
        )
    told = [row for row in done.parts if abs(row.gains) > _least(done)]
    for part in told:
        block(out, "buys", [_part_said(job, part, done.tuned.found.look)])


def _refusal(job: Job, said: str) -> str:
    """Return the first of what a build refused, without its name."""
    return prose(said.splitlines()[0].removeprefix(f"{job.build.name}: "))


def _least(done: Result) -> float:
    figures = done.tuned.found.look.figures
    return _LEAST_PRICE * abs(figures.get(done.tuned.aim.figure, 0.0))


def _row_said(row: Row) -> str:
    at = f", at {row.corner}" if row.corner else ""
    name = row.meaning or row.id
    if math.isnan(row.value):  # a rule of the build has no single value
        return prose(f"{name} ({row.id}){at}")
    found, limit = number(row.value, _DIGITS), quantity(row.limit, row.unit, _DIGITS)
    return prose(f"{name} ({row.id}): {found} of {limit}{at}")


def _bought(job: Job, price: Price, look: Look) -> str:
    unit = unit_text(price.row.unit) or "unit"
    return f"one {unit} more of that limit buys {_gain(job, price.a_unit, look)}"


def _gain(job: Job, gains: float, look: Look) -> str:
    """Return a change of the merit as one of the figure, in lumens too where they are known."""
    wish = WISHES[job.asked.wish]
    said = f"{wish.sense * gains:+.3g} {unit_text(wish.unit)}"
    seen = look.figures.get(f"{wish.figure.removesuffix('_W')}_lm")
    if wish.unit == "W" and seen and look.figures.get(wish.figure):
        said += f" ({gains * seen / look.figures[wish.figure]:+.3g} lm)"
    return said


def _part_said(job: Job, part: PartPrice, look: Look) -> str:
    unit = unit_text(part.path.rpartition("_")[2]) if "_" in part.path else ""
    via = f", through {part.through}" if part.through else ""
    return (
        f"{part.path} {number(part.value)} -> {number(part.value + part.by)} {unit}: "
        f"{_gain(job, part.gains, look)}{via}"
    )


def _judges(out: Console, job: Job, done: Result) -> None:
    for number_of, (reasons, cuts) in enumerate(done.tuned.rounds, 1):
        block(out, f"round {number_of}", [*(prose(text) for text in reasons[:3]), *cuts])
    judged = done.tuned.verified
    if judged is None:
        block(out, "judges", ["not asked: the settings miss what the search itself sees"])
        return
    proved, of = judged.proved
    said = f"rehearse (with margins): {judged.verdict}; prove: {proved} of {of} for these settings"
    block(out, "judges", [said, *(prose(text) for text in judged.reasons)])


def _change(out: Console, job: Job, edit: Edit | None, written: str | None) -> None:
    if edit is None or not edit.diff:
        return
    out.print()
    for line in edit.diff.splitlines():
        out.print(line, soft_wrap=True)
    out.print()
    if written:
        block(out, "written", [f"{job.build.file}; as it was: {written}"])
    else:
        block(out, "written", ["nothing; with --wish and --write the diff above is"])
    block(out, "next", ["the whole judgement of the file:"])
    command(out, f"diodewright rehearse {job.build.file}")


def _document(
    job: Job, done: Result, edit: Edit | None, assumed: bool, written: str | None, verdict: str
) -> dict[str, Any]:
    found, judged = done.tuned.found, done.tuned.verified
    return {
        "build": job.build.name,
        "verdict": verdict,
        "wish": job.asked.wish,
        "wish_assumed": assumed,
        "figure": done.tuned.aim.figure,
        "seed": job.asked.seed,
        "simulations": job.looks.simulations,
        "changes": job.looks.problem.values(found.at),
        "figures_now": dict(found.start_look.figures),
        "figures_tuned": dict(found.look.figures),
        "misses_now": [row.id for row in missed(found.start_look, done.tuned.aim)],
        "misses_tuned": [row.id for row in done.tuned.missing],
        "binds": [] if done.why is None else [_plain(price) for price in done.why.prices],
        "ends": [] if done.why is None else [dataclasses.asdict(b) for b in done.why.bounds],
        "held": [] if done.why is None else [dataclasses.asdict(w) for w in done.why.walls],
        "unexplained_share": None if done.why is None else done.why.left,
        "parts": [dataclasses.asdict(part) for part in done.parts],
        "rounds": [{"failed": list(a), "cuts": list(b)} for a, b in done.tuned.rounds],
        "rehearse": None if judged is None else judged.verdict,
        "proved": None if judged is None else list(judged.proved),
        "reasons": [] if judged is None else list(judged.reasons),
        "diff": edit.diff if edit else "",
        "written": written is not None,
    }


def _plain(price: Price) -> dict[str, Any]:
    row = price.row
    return {
        "id": row.id,
        "meaning": row.meaning,
        "where": row.corner,
        "value": _or_null(row.value),
        "limit": _or_null(row.limit),
        "unit": row.unit,
        "gains_a_unit": price.a_unit,
        "share": price.share,
    }


def _or_null(value: float) -> float | None:
    return None if math.isnan(value) else value
