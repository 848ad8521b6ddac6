"""The law against a burst: the same words at every tick, or the first that differs.

Two accounts are held against the law run again over the recorded codes: the columns of the
recording itself, at every tick, and what the board said of itself meanwhile, fifty times a second.
Integers: what differs at all, differs.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from diodedriver import words
from diodedriver.acts import TELEMETRY
from diodewright.bench.burst import law_columns, replay_of
from diodewright.bench.replay import Replayed
from diodewright.bench.span import Record
from diodewright.sim import Engine

__all__ = ["Difference", "LawJudged", "judged_law"]

#: What is looked at first where several words differ at one tick.
_FIRST = ("mode", "drive_A", "drive")
FILE, TOLD = "the recording", "its telemetry"


@dataclass(frozen=True)
class Difference:
    """The first word that differs.

    Attributes
    ----------
    row, tick : of the burst, counted from 0; of the board's own count.
    word : its name.
    law, board : what the law gives, and what was recorded.
    whose : which account it is of.
    """

    row: int
    tick: int
    word: str
    law: str
    board: str
    whose: str


@dataclass(frozen=True)
class LawJudged:
    """What came of it.

    Attributes
    ----------
    ticks : how many were run again.
    said : at how many of them the board said itself what it did.
    first : the first difference; None where there is none.
    lit : whether the light was driven at any of them.
    """

    ticks: int
    said: int
    first: Difference | None
    lit: bool


def judged_law(record: Record, engine: Engine) -> LawJudged:
    """Run the law again over a burst and return the first difference.

    Raises
    ------
    BenchError
        It is no whole burst.
    """
    law = replay_of(record, engine)
    ticks = law.word("tick")
    said = [each for each in _said(record) if ticks[0] <= each["tick"] <= ticks[-1]]
    found = [*_in_columns(record, law), *_in_telemetry(law, said)]
    order = {name: place for place, name in enumerate(_FIRST)}
    first = min(found, key=lambda each: (each.row, order.get(each.word, 9)), default=None)
    return LawJudged(len(ticks), len(said), first, bool((law.word("drive") > 0).any()))


def _said(record: Record) -> list[dict[str, int]]:
    said = record.trace.provenance.get("said", [])
    names = ("mode", *(name for name, _ in TELEMETRY))
    if not isinstance(said, list) or not all(
        isinstance(each, dict) and all(isinstance(each.get(name), int) for name in names)
        for each in said
    ):
        raise record.refuse("what the board said of itself is no list of its words")
    return said


def _in_columns(record: Record, law: Replayed) -> Iterator[Difference]:
    """Yield the first difference of each column that follows from the law."""
    for name, values in law_columns(law).items():
        if name not in record.trace.columns:
            continue
        rows = np.flatnonzero(values != record.trace[name])
        if len(rows):
            row = int(rows[0])
            pair = (_shown(name, values[row]), _shown(name, record.trace[name][row]))
            yield Difference(row, int(law.word("tick")[row]), name, *pair, FILE)


def _in_telemetry(law: Replayed, said: list[dict[str, int]]) -> Iterator[Difference]:
    """Yield all words that the board said otherwise, each line at its tick."""
    begin = int(law.word("tick")[0])
    for each in said:
        row = each["tick"] - begin
        for name in each:
            value = int(law.word(name)[row])
            if value != each[name]:
                pair = (_shown(name, value), _shown(name, each[name]))
                yield Difference(row, each["tick"], name, *pair, TOLD)


def _shown(name: str, value: float) -> str:
    if name == "mode" and 0 <= value < len(words.MODES):
        return words.MODES[int(value)][0]
    return f"{value:.9g}"
