"""Settings by sliders: each choice is run anew, in threads beside the page.

Of many moves of a slider only the latest is run. First the use and the sixty single faults, at the
same time; then, in a process beside, how far each slider goes and the rest of the map of faults,
until the next move. The build file is written by `write` alone, and only what `change` has shown.

Limits. Typical parts, one use, sixty faults at two moments, then single faults at all moments;
tolerance corners and the rest are `rehearse`'s.
"""

import hashlib
import threading
import time
import traceback
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from diodewright.build import Build, BuildErrors, load, with_values
from diodewright.build.edit import Edit, edited
from diodewright.build.plain_file import why
from diodewright.derive import settings
from diodewright.page.beside import Beside, FaultRow, LeftOff
from diodewright.page.mends import said_of, slider_of, slider_of_text
from diodewright.page.source import Asked, Refused
from diodewright.rehearse.moments import NoHealthyStart
from diodewright.rehearse.trial import TrialJob
from diodewright.report.facts import letter
from diodewright.tune import Context, Evaluation, context_of, evaluate, rounded, tune_keys
from diodewright.tune.compared import changes
from diodewright.tune.constraints import Constraint, from_case_findings, from_cases
from diodewright.tune.context import core_stands
from diodewright.tune.runs import struck

__all__ = ["FIGURES", "Tuning"]

Tell = Callable[[str, Any], None]
Values = Mapping[str, object]
_CURVE_STEP = 2
_MAP_EVERY_S = 0.25
_MOST_LOST = 20
_NOTE = "tuned on the page"
#: Figure -> its short name, in the order of the page; what else an evaluation has comes behind.
FIGURES = {
    "light_first_minute_W": "light after one minute",
    "light_first_minute_lm": "the same, as seen",
    "before_cutback_s": "on-time before heat cuts back",
    "pack_min": "light from one pack",
    "light_sustained_W": "light kept, ten minutes on",
    "light_sustained_lm": "the same, as seen",
    "settled_A": "current that heat lets stay",
    "peak_A": "highest current",
    "junction_degC": "hottest junction",
    "mount_degC": "hottest mount",
    "sink_degC": "hottest sink",
    "start_A_s": "steepest rise of current",
    "start_step_pct": "largest step of light",
    "false_trip_margin_pct": "left of the narrowest guard band",
    "hunting_pct": "swing of light in cutback",
}


@dataclass(frozen=True)
class _Choice:
    """What is to be looked at: settings, the slider moved last, and when it was asked."""

    version: int
    values: Values
    moved: str
    asked_s: float

    def since_ms(self) -> float:
        """Return the time since it was asked [ms]; 0 where nobody moved a slider."""
        return round(1000 * (time.monotonic() - self.asked_s), 1) if self.asked_s else 0.0


class Tuning:
    """The sliders of one build file.

    Parameters
    ----------
    named : the file, or a shipped example's name, as it was given.
    """

    def __init__(self, named: str, build: Build, seed: int) -> None:
        self.named, self.build, self.seed = named, build, seed
        self.keys = {key.path: key for key in tune_keys(build)}
        self.values: dict[str, object] = {}
        self.moved = next(iter(self.keys))
        self._tell: Tell = lambda name, document: None
        self._asked_s = 0.0
        self._version = 0
        self._news = threading.Condition()
        self._ends = False
        self._thread: threading.Thread | None = None
        self._saved: Evaluation | None = None
        self._known: set[str] = set()
        self._edit: Edit | None = None
        self._does: dict[str, Callable[[Asked], None]] = {
            "tune-look": lambda _: self._wake(),
            "tune": self._move,
            "tune-back": self._back,
            "tune-change": lambda _: self._change(),
            "tune-write": self._write,
        }

    def begin(self, tell: Tell) -> None:
        """Take what tells everybody, from any thread."""
        self._tell = tell

    def asked(self, wish: Asked) -> bool:
        """Do what a client asks; False where it is not about settings. `Refused` says why not."""
        does = self._does.get(wish.do)
        if does is None:
            return False
        does(wish)
        return True

    def close(self) -> None:
        """End the threads."""
        with self._news:
            self._ends = True
            self._version += 1
            self._news.notify()
        if self._thread is not None:
            self._thread.join(10)

    # wishes

    def _wake(self) -> None:
        """Begin to work, at the first look at the sliders."""
        if self._thread is None:
            self._thread = threading.Thread(target=self._work, name="settings", daemon=True)
            self._thread.start()

    def _move(self, wish: Asked) -> None:
        key = self.keys.get(wish.what)
        if key is None:
            raise Refused(f"{wish.what}: no setting of this build")
        if not key.low <= wish.value <= key.high:
            raise Refused(f"{wish.what} = {wish.value:g}: allowed {key.low:g} to {key.high:g}")
        self.moved = wish.what
        self.values[wish.what] = rounded(key, wish.value)
        if self.values[wish.what] == rounded(key, key.start):
            del self.values[wish.what]
        self._changed()

    def _back(self, wish: Asked) -> None:
        """Take one slider back to what the file says, or all."""
        if wish.what and wish.what not in self.keys:
            raise Refused(f"{wish.what}: no setting of this build")
        for path in [wish.what] if wish.what else [*self.values]:
            self.values.pop(path, None)
        self._changed()

    def _changed(self) -> None:
        self._edit = None
        self._tell("tune-values", {"values": dict(self.values), "moved": self.moved})
        self._tell("tune-change", None)
        self._wake()
        with self._news:
            self._asked_s = time.monotonic()
            self._version += 1
            self._news.notify()

    def _change(self) -> None:
        """Show what would be written."""
        if not self.values:
            raise Refused("nothing is changed: there is nothing to write")
        try:
            self._edit = edited(self.named, {k: _plain(v) for k, v in self.values.items()}, _NOTE)
        except BuildErrors as error:
            raise Refused(str(error)) from None
        document = {"file": self.named, "diff": self._edit.diff, "digest": _digest(self._edit)}
        self._tell("tune-change", document)

    def _write(self, wish: Asked) -> None:
        """Write what was shown, and nothing else."""
        edit = self._edit
        if edit is None or wish.what != _digest(edit):
            raise Refused("what was shown is not what would be written any more: look again")
        try:
            kept = edit.write()
        except BuildErrors as error:
            raise Refused(str(error)) from None
        except OSError as error:
            raise Refused(f"{self.named}: can't be written: {why(error)}") from None
        self.build = load(self.named)
        self.keys = {key.path: key for key in tune_keys(self.build)}
        self.values = {}
        self._saved = None
        self._changed()
        starts = {path: key.start for path, key in self.keys.items()}
        self._tell("tune-written", {"file": self.named, "kept": str(kept), "starts": starts})

    # the thread

    def _work(self) -> None:
        try:
            self._work_on()
        except Exception:  # noqa: BLE001 whatever ends this thread, the page must not wait for it
            traceback.print_exc()
            self._tell("tune-broken", "the settings' part of the page broke; its server says how")

    def _work_on(self) -> None:
        context, beside, done = None, None, -1
        try:
            with ThreadPoolExecutor(2) as threads:
                while (found := self._next(done)) is not None:
                    done = found.version
                    if context is None or beside is None or context.build != self.build:
                        self._tell("tune-doing", "finding the sixty faults that come closest")
                        context = context_of(self.build, self.seed)
                        if beside is not None:
                            beside.close()
                        beside = Beside(context)
                    self._run(context, found, threads, beside)
        finally:
            if beside is not None:
                beside.close()

    def _next(self, done: int) -> "_Choice | None":
        """Wait for a choice that was not looked at; None where it is over."""
        with self._news:
            while self._version == done and not self._ends:
                self._news.wait()
            if self._ends:
                return None
            return _Choice(self._version, dict(self.values), self.moved, self._asked_s)

    def _run(
        self, context: Context, choice: "_Choice", threads: ThreadPoolExecutor, beside: Beside
    ) -> None:
        """Look at one choice; leave off where another one came."""
        if self._saved is None:
            self._saved = evaluate(context, {}, "use")
        with beside.still():
            faults = threads.submit(_sixty, context, choice.values)
            chosen = evaluate(context, choice.values, "use", pool=threads)
            self._tell("tune-use", {"ms": choice.since_ms(), **self._use(chosen, choice.moved)})
            said = self._faults(faults.result(), choice.moved)
            self._tell("tune-faults", {"ms": choice.since_ms(), **said})
        if chosen.refusal:
            return
        with suppress(LeftOff):
            # a slider that cannot be moved yet goes first, what only moved goes last
            self._spans([path for path in self.keys if path not in self._known], choice, beside)
            self._map(choice, beside)
            if choice.values:
                self._spans([*self.keys], choice, beside)

    def _spans(self, paths: list[str], choice: "_Choice", beside: Beside) -> None:
        if paths:
            self._tell("tune-doing", "finding how far each slider goes")
        for path, span in beside.spans(paths, choice.values, self._wanted(choice)):
            self._tell(f"tune-span {path}", span)
            self._known.add(path)

    def _wanted(self, choice: "_Choice") -> Callable[[], bool]:
        return lambda: choice.version == self._version

    def _map(self, choice: "_Choice", beside: Beside) -> None:
        """Stream the map of all single faults at all moments."""
        self._tell("tune-doing", "finding the moments of this light")
        moments: tuple[str, ...] = ()
        rows: list[FaultRow] = []
        told_s = 0.0
        for found in beside.fault_map(choice.values, self._wanted(choice)):
            if not isinstance(found, FaultRow):
                moments = found
                continue
            rows.append(found)
            if time.monotonic() - told_s > _MAP_EVERY_S:
                told_s = time.monotonic()
                self._tell("tune-map", _map_document(moments, rows, False))
        if moments:
            self._tell("tune-map", _map_document(moments, rows, True))
        self._tell("tune-doing", "")

    def _use(self, chosen: Evaluation, moved: str) -> dict[str, Any]:
        saved = self._saved
        assert saved is not None
        document: dict[str, Any] = {"values": dict(chosen.values)}
        rows = {row.id: row for row in changes(saved, chosen)}
        ids = [id for id in FIGURES if id in rows] + [id for id in rows if id not in FIGURES]
        document["figures"] = [
            {
                "id": id,
                "title": FIGURES.get(id, id),
                "now": rows[id].now,
                "chosen": rows[id].chosen,
                "unit": rows[id].unit,
                "meaning": rows[id].meaning,
            }
            for id in ids
        ]
        document["curves"] = {"saved": _curve(saved), "chosen": _curve(chosen)}
        if chosen.refusal:
            key = slider_of_text(chosen.refusal, [*self.keys], moved)
            document["fails"] = [{"key": key, "text": f"REFUSED {chosen.refusal}"}]
        else:
            document["fails"] = self._failing(chosen.broken, moved)
        return document

    def _failing(self, rows: tuple[Constraint, ...], moved: str) -> list[dict[str, str]]:
        return [
            {"key": slider_of(self.build, row, [*self.keys], moved), "text": said_of(row)}
            for row in rows
        ]

    def _faults(self, found: "tuple[Any, ...] | None", moved: str) -> dict[str, Any]:
        if found is None:
            return {"of": 0, "survive": 0, "letters": {}, "fails": []}
        rows = (*from_cases(found), *from_case_findings(found, "fault"))
        letters: dict[str, int] = {}
        for run in found:
            at = letter(run.finding)
            letters[at] = letters.get(at, 0) + 1
        return {
            "of": len(found),
            "survive": sum(run.finding.survives for run in found),
            "letters": letters,
            "fails": self._failing(tuple(row for row in rows if not row.holds), moved),
        }


def _plain(value: object) -> object:
    """Return a whole number as one: a file says 48, not 48.0."""
    return int(value) if isinstance(value, float) and value.is_integer() else value


def _digest(edit: Edit) -> str:
    return hashlib.sha256((edit.before + "\0" + edit.after).encode()).hexdigest()


def _sixty(context: Context, values: Values) -> Any:
    """Strike the context's faults; None where build or board refuse, or it never lights."""
    try:
        build = with_values(context.build, values) if values else context.build
        job = TrialJob(build, context.machine, settings(build), (), {}, context.seed, ())
        taken, _ = core_stands(job)
    except (BuildErrors, ValueError, NoHealthyStart):
        return None
    return struck(job, taken, context.cases)


def _map_document(moments: tuple[str, ...], rows: list[FaultRow], whole: bool) -> dict[str, Any]:
    lost = [text for row in rows for text in row.lost]
    return {
        "whole": whole,
        "cases": sum(row.cases for row in rows),
        "lost": len(lost),
        "told": lost[:_MOST_LOST],
        "moments": moments,
        "rows": {row.fault: row.letters for row in rows},
    }


def _curve(seen: Evaluation) -> dict[str, list[float]] | None:
    if seen.curve is None:
        return None
    names = ("time_s", "light_W", "diode_A", "mount_degC")
    return {
        name: [round(float(value), 4) for value in getattr(seen.curve, name)[::_CURVE_STEP]]
        for name in names
    }
