"""Choices looked into on all cores, each once; what was seen can be kept and taken up again.

A search asks for choices in an order that depends on its seed and on what it saw, on nothing else.
To go on where it was stopped it is therefore run again from its start, and finds in the kept file
what it had seen: it ends at the same result. Runs that were kept count as simulations, too.
"""

import json
import math
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Executor
from pathlib import Path
from typing import Any

import msgspec

from diodewright.build.plain_file import replace_whole
from diodewright.tune.choice import Choice, Look, Problem, holds, merit, rank
from diodewright.tune.problems import TuneError

__all__ = ["Looks", "Stopped", "Work"]

#: Looks into one choice to one depth.
Work = Callable[[Choice, str], Look]

_FORMAT = 2
#: New looks after which the file is written again, where there is one.
_BETWEEN = 40


class Stopped(KeyboardInterrupt):
    """A search was stopped by hand: where what it saw is kept, and its best in words."""

    def __init__(self, path: Path | None, said: str) -> None:
        super().__init__()
        self.path, self.said = path, said


class Looks:
    """All that a search has seen.

    Parameters
    ----------
    work : looks into one choice.
    pool : runs it; here and now where None. Nothing depends on how many work at once.
    file : where what was seen is kept, or None.
    of : what the file is about (build, law, seed, keys): another file is refused.
    on_stop : where it is kept when it is stopped by hand and `file` is None.
    """

    def __init__(
        self,
        problem: Problem,
        work: Work,
        pool: Executor | None = None,
        file: Path | None = None,
        of: Mapping[str, object] | None = None,
        on_stop: Path | None = None,
    ) -> None:
        self.problem, self.file, self.on_stop = problem, file, on_stop
        self._beside = 0
        self._work, self._pool = work, pool
        self._of = dict(of or {})
        self._known: dict[tuple[Choice, str], Look] = {}
        self._kept: dict[tuple[Choice, str], Look] = _read(file, self._of) if file else {}
        self._unsaved = 0

    @property
    def simulations(self) -> int:
        """Closed loops that were run for all that was seen so far."""
        return self._beside + sum(look.simulations for look in self._known.values())

    @property
    def count(self) -> int:
        """Choices that were looked into so far, depths apart."""
        return len(self._known)

    @property
    def resumed(self) -> int:
        """Looks that the file knew."""
        return len(self._kept)

    def seen(self, depth: str) -> dict[Choice, Look]:
        """Return what was looked into to just that depth, in the order asked for."""
        return {choice: look for (choice, deep), look in self._known.items() if deep == depth}

    def at(self, choices: Sequence[Choice], depth: str) -> list[Look]:
        """Return what each choice shows, rounded to its steps.

        Raises
        ------
        Stopped
            Ctrl-C; what was seen is written first.
        """
        snapped = [self.problem.snapped(choice) for choice in choices]
        asked = dict.fromkeys((choice, depth) for choice in snapped)
        for each in asked:
            if each not in self._known and each in self._kept:
                self._known[each] = self._kept[each]
        try:
            self._run([each for each in asked if each not in self._known])
        except KeyboardInterrupt as end:
            raise self.stopped() from end
        return [self._known[choice, depth] for choice in snapped]

    def stopped(self) -> Stopped:
        """Write what was seen, as work was stopped by hand; return what to raise."""
        self.file = self.file or self.on_stop
        self.save()
        return Stopped(self.file, self._best_said())

    def _best_said(self) -> str:
        """Return the best of what was looked into whole, in words."""
        aim, seen = self.problem.aim, self.seen("full")
        if not seen:
            return "nothing was looked into whole yet"
        best = min(seen, key=lambda choice: rank(seen[choice], aim))
        if not holds(seen[best], aim):
            return "nothing that holds was found yet"
        values = ", ".join(f"{key} = {value}" for key, value in self.problem.values(best).items())
        figure = f"{aim.figure} {aim.sense * merit(seen[best], aim):.5g}"
        return f"best so far {figure} with {values or 'the settings as they are'}"

    def aside(self, works: Sequence[Work], choice: Choice, depth: str) -> list[Look]:
        """Return what a choice shows to each of other `works`; counted and not remembered."""
        at = self.problem.snapped(choice)
        if self._pool is None:
            found = [work(at, depth) for work in works]
        else:
            found = [each.result() for each in [self._pool.submit(w, at, depth) for w in works]]
        self._beside += sum(look.simulations for look in found)
        return found

    def one(self, choice: Choice, depth: str) -> Look:
        """Return what one choice shows."""
        return self.at([choice], depth)[0]

    def _run(self, new: list[tuple[Choice, str]]) -> None:
        if self._pool is None:
            for each in new:
                self._note(each, self._work(*each))
            return
        waiting = [self._pool.submit(self._work, *each) for each in new]
        try:
            for each, future in zip(new, waiting, strict=True):
                self._note(each, future.result())
        finally:
            for future in waiting:
                future.cancel()

    def _note(self, each: tuple[Choice, str], look: Look) -> None:
        self._known[each] = look
        self._unsaved += 1
        if self._unsaved >= _BETWEEN:
            self.save()

    def save(self) -> None:
        """Write what was seen, where there is a file for it."""
        self._unsaved = 0
        if self.file is None:
            return
        rows = [
            {"choice": choice, "depth": depth, "look": _plain(look)}
            for (choice, depth), look in {**self._kept, **self._known}.items()
        ]
        text = json.dumps({"format": _FORMAT, "of": self._of, "seen": rows}, allow_nan=False)
        replace_whole(self.file, text + "\n")


def _plain(look: Look) -> Any:
    """Return a look as JSON holds it: what is not a number is null."""
    return json.loads(msgspec.json.encode(look))


def _read(file: Path, of: dict[str, object]) -> dict[tuple[Choice, str], Look]:
    """Return what a file has kept; nothing where there is no file yet."""
    try:
        text = file.read_text("utf-8")
    except FileNotFoundError:
        return {}
    except (OSError, UnicodeDecodeError) as error:
        raise TuneError(f"{file}: can't be read: {error}") from error
    try:
        held = json.loads(text)
        if held["format"] != _FORMAT:
            raise TuneError(f"{file}: format {held['format']}; this version reads {_FORMAT}")
        was = held["of"]
        for name, value in of.items():
            if was.get(name) != value:
                raise TuneError(
                    f"{file}: kept for {name} = {was.get(name)}, asked for {value}; "
                    "give what it was kept for, or another file"
                )
        return {
            (tuple(float(value) for value in row["choice"]), row["depth"]): _look(row["look"])
            for row in held["seen"]
        }
    except (json.JSONDecodeError, KeyError, TypeError, AttributeError) as error:
        raise TuneError(f"{file}: not what a search keeps; remove it or name another") from error


def _look(held: dict[str, Any]) -> Look:
    filled = {
        **held,
        "figures": {name: _number(value) for name, value in held["figures"].items()},
        "rows": [
            {**row, **{name: _number(row[name]) for name in ("room", "scale", "value", "limit")}}
            for row in held["rows"]
        ],
    }
    return msgspec.convert(filled, Look)


def _number(value: float | None) -> float:
    return math.nan if value is None else float(value)
