"""A process beside the page for what takes long, so that a move of a slider need not wait for it.

It finds how far each slider goes, and runs the map of single faults, a fault at a time; who asks
may leave off between any two answers.
"""

import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from multiprocessing.process import BaseProcess
from typing import Any, TypeVar

from diodewright.build import Build, with_values
from diodewright.page.hands import breakable
from diodewright.rehearse.cases import cases_of, run_case
from diodewright.rehearse.moments import NoHealthyStart, Stand, snapshots
from diodewright.report.facts import letter
from diodewright.report.fault_map import NO_CASE
from diodewright.tune import Context, tune_keys
from diodewright.tune.keys import safe_span, taken_span

__all__ = ["Beside", "FaultRow", "LeftOff"]

#: It gives way to the page itself.
_NICE = 10
#: How long an answer is waited for before one asks whether it is still wanted [s].
_LOOK_S = 0.005
Values = Mapping[str, object]
Wanted = Callable[[], bool]
_Done = TypeVar("_Done")


class LeftOff(Exception):
    """What was asked for is wanted no more."""


@dataclass(frozen=True)
class FaultRow:
    """One fault at all moments.

    Attributes
    ----------
    letters : one for each moment (`report.facts.CODES`, or `NO_CASE`).
    cases : how many were run.
    lost : those that do not survive, with why.
    """

    fault: str
    letters: str
    cases: int
    lost: tuple[str, ...]


class Beside:
    """The process, for one context."""

    def __init__(self, context: Context) -> None:
        self._pool = ProcessPoolExecutor(
            1, multiprocessing.get_context("spawn"), _here.begin, (context,)
        )

    def _ask(self, wanted: Wanted, work: Callable[..., _Done], *about: object) -> _Done:
        """Return what the process answers; `LeftOff` once it is wanted no more."""
        answer = self._pool.submit(work, *about)
        while True:
            try:
                return answer.result(_LOOK_S)
            except TimeoutError:
                if not wanted():
                    # not cancelled: a pool whose process ends meets a cancelled one with an error
                    raise LeftOff from None

    def spans(
        self, paths: list[str], values: Values, wanted: Wanted
    ) -> Iterator[tuple[str, dict[str, float]]]:
        """Yield how far each slider goes: taken by build and board, and safe by guard bands.

        Raises
        ------
        LeftOff
            It is `wanted` no more.
        """
        for path in paths:
            yield path, self._ask(wanted, _span, path, values)

    def fault_map(self, values: Values, wanted: Wanted) -> Iterator[tuple[str, ...] | FaultRow]:
        """Yield the moments of this light, then fault by fault; nothing where it never lights.

        Raises
        ------
        LeftOff
            It is `wanted` no more.
        """
        moments = self._ask(wanted, _stand, values)
        if not moments:
            return
        yield moments
        for fault in self._ask(wanted, _faults):
            yield self._ask(wanted, _fault_row, fault)

    @contextmanager
    def still(self) -> Iterator[None]:
        """Let it stand still, whatever it is at: threads here want the processor.

        On a system that can't stop a process it goes on, and who waits here waits longer.
        """
        self._signal("SIGSTOP")
        try:
            yield
        finally:
            self._signal("SIGCONT")

    def _signal(self, name: str) -> None:
        for process in self._processes():
            if process.pid is not None and hasattr(signal, name):
                with suppress(OSError):
                    os.kill(process.pid, getattr(signal, name))

    def _processes(self) -> list[BaseProcess]:
        return [*(self._pool._processes or {}).values()]

    def close(self) -> None:
        """End it, whatever it is at."""
        processes = self._processes()
        self._pool.shutdown(wait=False, cancel_futures=True)
        for process in processes:
            with suppress(OSError):
                process.terminate()


# in that process


class _Here:
    """What the process holds between two questions."""

    context: Context
    build: Build
    stands: dict[str, Stand]

    def begin(self, context: Context) -> None:
        os.nice(_NICE)
        _here.context = context
        if (page := multiprocessing.parent_process()) is not None:
            threading.Thread(target=_end_with, args=(page,), daemon=True).start()


_here = _Here()


def _end_with(page: BaseProcess) -> None:
    """End as the page's process ends, even where that was killed and could not say so."""
    page.join()
    os._exit(0)


def _span(path: str, values: Values) -> dict[str, float]:
    context = _here.context
    build = with_values(context.build, values) if values else context.build
    key = next(key for key in tune_keys(build) if key.path == path)
    low, high = taken_span(context, key, values)
    safe_low, safe_high = safe_span(context, key, values)
    return {"low": low, "high": high, "safe_low": safe_low, "safe_high": safe_high}


def _stand(values: Values) -> tuple[str, ...]:
    context = _here.context
    _here.build = with_values(context.build, values) if values else context.build
    try:
        _here.stands = snapshots(_here.build, context.engine, context.seed)
    except NoHealthyStart:
        return ()
    return tuple(_here.stands)


def _faults() -> tuple[str, ...]:
    faults = breakable(_here.build)
    return tuple(f.id for f in faults.values() if any(cases_of(_here.build, f, _here.stands)))


def _fault_row(name: str) -> FaultRow:
    build, stands = _here.build, _here.stands
    fault = breakable(build)[name]
    letters, lost, cases = dict.fromkeys(stands, NO_CASE), [], 0
    for at in cases_of(build, fault, stands):
        found: Any = run_case(build, stands[at.moment], fault, at, _here.context.seed).finding
        letters[at.moment] = letter(found)
        cases += 1
        if not found.survives:
            lost.append(f"{name}@{at}: {found.why}")
    return FaultRow(name, "".join(letters.values()), cases, tuple(lost))
