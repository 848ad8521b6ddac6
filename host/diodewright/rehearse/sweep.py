"""Many runs on any executor, in the order asked for, a bounded number of them at a time.

An executor is anything with `submit` as `concurrent.futures.Executor` has it: threads (the engine
runs without the interpreter's lock), processes, or a Dask cluster's ``client.get_executor()``. A
machine travels as numbers; a process at the far end that has another law refuses it.
"""

import itertools
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Executor, Future
from typing import TypeVar

__all__ = ["AHEAD", "TOGETHER", "in_order"]

#: So many handfuls are out before the first of them must be back: what bounds the memory.
AHEAD = 64
#: Runs that travel in one handful, so that what they share (a build, a snapshot) goes once.
TOGETHER = 4

_Job = TypeVar("_Job")
_Done = TypeVar("_Done")


def in_order(
    pool: Executor | None,
    work: Callable[[_Job], _Done],
    jobs: Iterable[_Job],
    ahead: int = AHEAD,
) -> Iterator[_Done]:
    """Yield ``work(job)`` for every job, in their order; here and now where `pool` is None.

    `jobs` may be as long as you like: it is drawn from as results are taken, at most `ahead`
    times `TOGETHER` of them early. Whatever `work` raises is raised in that job's place, and what
    was handed out behind it is called back.
    """
    if pool is None:
        yield from map(work, jobs)
        return
    left = iter(jobs)
    waiting: deque[Future[tuple[list[_Done], Exception | None]]] = deque()
    try:
        while True:
            handful = tuple(itertools.islice(left, TOGETHER))
            if handful:
                waiting.append(pool.submit(_together, work, handful))
            if not waiting:
                return
            if not handful or len(waiting) >= ahead:
                yield from _taken(*waiting.popleft().result())
    finally:
        for late in waiting:
            late.cancel()


def _together(
    work: Callable[[_Job], _Done], handful: tuple[_Job, ...]
) -> tuple[list[_Done], Exception | None]:
    """Return what was done of a handful, and what stopped it."""
    done: list[_Done] = []
    try:
        for job in handful:
            done.append(work(job))  # noqa: PERF401 what was done before a failure counts
    except Exception as error:  # noqa: BLE001 raised again where the result is taken
        return done, error
    return done, None


def _taken(done: list[_Done], error: Exception | None) -> Iterator[_Done]:
    yield from done
    if error is not None:
        raise error
