"""A case: the numbers that refute a claim, and their replay on the law itself in CPython."""

import json
from array import array
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from diodedriver import words
from diodewright.build.plain_file import replace_whole
from diodewright.prove.bits import Value
from diodewright.prove.obligation import Goal, Obligation, Setup
from diodewright.prove.terms import Int
from diodewright.prove.view import View
from diodewright.prove.watched import Breach, watched

__all__ = ["FORMAT", "Case", "case_of", "load_law", "misbehaves", "replay", "save_case"]

FORMAT = 1
Case = dict[str, Any]
_TABLES = {
    "state": words.STATE,
    "limits": words.LIMITS,
    "readings": words.READINGS,
    "raw": words.RAW,
}


def case_of(
    obligation: Obligation, goal: Goal, arrays: Sequence[Mapping[str, list[int]]], law_hash: str
) -> Case:
    """Return the case of numbers `arrays` (before each tick) for an obligation."""
    ticks = [
        {"function": setup.function, "arguments": list(setup.arrays), **_named(given)}
        for setup, given in zip(goal.setups, arrays, strict=True)
    ]
    return {
        "format": FORMAT,
        "obligation": obligation.id,
        "expected_violation": obligation.meaning,
        "law_hash": law_hash,
        "ticks": ticks,
    }


def _named(given: Mapping[str, list[int]]) -> dict[str, Any]:
    """Return arrays by word name, and the limits' complements as they are stored."""
    named: dict[str, Any] = {
        table: {row[0]: given[table][i] for i, row in enumerate(rows)}
        for table, rows in _TABLES.items()
    }
    count = len(words.LIMITS)
    named["complements"] = {
        row[0]: given["limits"][count + i] for i, row in enumerate(words.LIMITS)
    }
    return named


def _arrays(tick: Mapping[str, Any]) -> dict[str, list[int]]:
    found = {name: list(tick[name].values()) for name in _TABLES}
    found["limits"] += list(tick["complements"].values())
    return found


def load_law(text: str) -> dict[str, Any]:
    """Return the names of a law's source, run as a module of its own."""
    names: dict[str, Any] = {"__name__": "law_under_proof"}
    exec(compile(text, "law.py", "exec"), names)
    return names


def _run(
    law: Mapping[str, Any],
    setup: Setup,
    given: Mapping[str, list[int]],
    checks: tuple[str, ...],
) -> tuple[dict[str, list[int]], int]:
    """Run one tick on `given` and return the arrays behind it and its value."""
    held: dict[str, Any] = {
        name: watched(values, checks) if checks else array("i", values)
        for name, values in given.items()
    }
    returned = int(law[setup.function](*[held[name] for name in setup.arrays]))
    return {name: [int(value) for value in values] for name, values in held.items()}, returned


def misbehaves(
    obligation: Obligation,
    setups: tuple[Setup, ...],
    arrays: Sequence[Mapping[str, list[int]]],
    law: Mapping[str, Any],
) -> str:
    """Return in words how the law breaks the claim on these numbers; empty where it doesn't."""
    views = []
    for setup, given in zip(setups, arrays, strict=True):
        try:
            after, returned = _run(law, setup, given, obligation.checks)
        except (Breach, OverflowError, ZeroDivisionError, IndexError, ValueError) as error:
            return f"{type(error).__name__}: {error}"
        before: dict[str, list[Value]] = {name: list(words_) for name, words_ in given.items()}
        views.append(View(before, {name: list(words_) for name, words_ in after.items()}, returned))
    if obligation.checks:
        return ""
    held = obligation.claim(*views)
    if held is True:
        return ""
    return f"broken: {obligation.meaning}; {'; '.join(_tells(view) for view in views)}"


def _tells(view: View) -> str:
    """Return in words what a tick did with the light."""
    modes = [_mode(_whole(view.s("mode"))), _mode(_whole(view.then("mode")))]
    drives = [_whole(view.s("drive")) / 64, _whole(view.then("drive")) / 64]
    return f"{modes[0]} -> {modes[1]}, drive {drives[0]:g} -> {drives[1]:g} mA"


def _whole(word: Int) -> int:
    assert isinstance(word, int), "a replay has numbers, no terms"
    return word


def _mode(code: int) -> str:
    return words.MODES[code][0] if 0 <= code < len(words.MODES) else f"mode {code}"


def replay(case: Case, source: str) -> str:
    """Run a case on the law in `source` in CPython.

    Returns
    -------
    str
        What it breaks, in words; empty where the law keeps the claim on these numbers.

    Raises
    ------
    ValueError
        Not a case of this format, or of no known obligation.
    """
    from diodewright.prove.obligations import obligation_of

    if case.get("format") != FORMAT:
        raise ValueError(f"format {case.get('format')!r}, expected {FORMAT}")
    setups = tuple(Setup(tick["function"], tuple(tick["arguments"])) for tick in case["ticks"])
    arrays: list[Mapping[str, list[int]]] = [_arrays(tick) for tick in case["ticks"]]
    return misbehaves(obligation_of(case["obligation"]), setups, arrays, load_law(source))


def save_case(case: Case, folder: Path) -> Path:
    """Write a case into `folder` as JSON, whole or not at all; return its path."""
    path = folder / f"{case['obligation']}.json"
    replace_whole(path, json.dumps(case, indent=1) + "\n")
    return path
