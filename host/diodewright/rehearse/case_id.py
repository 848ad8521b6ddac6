"""Names of cases: ``FAULT@MOMENT``, stable, and typed by hand.

``stage-full-on@steady`` strikes in steady light; ``stage-full-on@steady+3`` three ticks later;
``stage-full-on@steady~20`` is mended again after 20 ms; ``gates-dead,key-off@steady`` is a pair: a
guard that was dead before, unseen, and the fault that it should have guarded against.
"""

import dataclasses
from dataclasses import dataclass
from difflib import get_close_matches

from diodewright.build.plain_file import printable
from diodewright.faults import CATALOGUE, ENGINE, MOMENTS, Fault, by_id

__all__ = ["At", "UnknownCase", "joined", "parse_at", "parse_case"]

_LONGEST_ID = 60
#: The latest phase [ticks] and the longest time until a fault mends itself [ms].
_MOST_LATER, _MOST_OFF_MS = 999, 60_000


class UnknownCase(ValueError):
    """No such fault or moment; names the nearest."""


@dataclass(frozen=True)
class At:
    """When a fault strikes.

    Attributes
    ----------
    moment : one of `MOMENTS`.
    later : so many ticks behind it.
    off_ms : mended again after this [ms]; None where it stays.
    """

    moment: str
    later: int = 0
    off_ms: int | None = None

    def __str__(self) -> str:
        """Return it as it is typed."""
        later = f"+{self.later}" if self.later else ""
        return f"{self.moment}{later}{'' if self.off_ms is None else f'~{self.off_ms}'}"


def joined(latent: Fault, active: Fault) -> Fault:
    """Return `active` striking where `latent` was there before: a pair."""
    return dataclasses.replace(
        active,
        id=f"{latent.id},{active.id}",
        part=f"{latent.part}, then {active.part}",
        happens=f"{latent.happens}; then {active.happens}",
        before=(*latent.changes, *active.before),
    )


def parse_case(case_id: str) -> tuple[Fault, At]:
    """Return fault (or pair) and moment of a case's name.

    Raises
    ------
    UnknownCase
        There is no such fault, guard or moment; with the nearest names.
    """
    names, mark, at = case_id.partition("@")
    guard, pair, name = names.rpartition(",")
    fault = _fault(name, case_id)
    if not mark:
        raise UnknownCase(_no_moment(case_id, "no moment", names, ""))
    try:
        when = parse_at(at)
    except UnknownCase as error:
        raise UnknownCase(_no_moment(case_id, str(error), names, at)) from None
    if not pair:
        return fault, when
    latent = _fault(guard, case_id)
    if latent.guard != "latent":
        ids = ", ".join(row.id for row in ENGINE if row.guard == "latent")
        raise UnknownCase(f"{_shown(case_id)}: {latent.id} is no guard that dies unseen; of: {ids}")
    return joined(latent, fault), when


def parse_at(text: str) -> At:
    """Return a moment with its phase and mending; UnknownCase says in words what is wrong."""
    rest, back, off = text.partition("~")
    moment, plus, later = rest.partition("+")
    if moment not in MOMENTS:
        raise UnknownCase("no such moment")
    ticks = _whole(later, _MOST_LATER, "ticks behind the moment") if plus else 0
    off_ms = _whole(off, _MOST_OFF_MS, "ms until it is mended") if back else None
    return At(moment, ticks, off_ms)


def _whole(text: str, most: int, what: str) -> int:
    if not (text.isascii() and text.isdecimal()) or not 1 <= int(text[:9]) <= most:
        raise UnknownCase(f"{what}: a whole number from 1 to {most}")
    return int(text)


def _fault(name: str, case_id: str) -> Fault:
    ids = [row.id for row in ENGINE]
    if name in ids:
        return by_id(name)
    elsewhere = {row.id: row.shown_by for row in CATALOGUE if row.level != "engine"}
    if name in elsewhere:
        shown_by = elsewhere[name]
        raise UnknownCase(f"{_shown(case_id)}: no such fault in the engine; shown by {shown_by}")
    near = get_close_matches(name[:_LONGEST_ID], ids, 3, 0.4)
    raise UnknownCase(
        f"{_shown(case_id)}: no such fault; nearest: {', '.join(near) or 'none'}"
        " (diodewright faults lists all)"
    )


def _no_moment(case_id: str, wrong: str, names: str, at: str) -> str:
    near = get_close_matches(at[:_LONGEST_ID], MOMENTS, 1, 0.4) or ["steady"]
    listed = ", ".join(MOMENTS)
    return f"{_shown(case_id)}: {wrong}; one of: {listed}; write {names}@{near[0]}"


def _shown(case_id: str) -> str:
    """Return what was asked for on one line that fits a screen."""
    text = printable(case_id)
    return f"{text[:_LONGEST_ID]}..." if len(text) > _LONGEST_ID else text or "(nothing)"
