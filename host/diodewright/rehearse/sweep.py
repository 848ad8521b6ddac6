"""Many runs on any executor, in the order asked for, a bounded number of them at a time.

An executor is anything with `submit` as `concurrent.futures.Executor` has it: threads (the engine
runs without the interpreter's lock), processes, or a Dask cluster's ``client.get_executor()``. A
machine travels as numbers; a process at the far end that has another law refuses it.
"""

from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Executor, Future
from typing import TypeVar

__all__ = ["AHEAD", "in_order"]

#: So many runs are handed out before the first of them must be back: what bounds the memory.
AHEAD = 64

_Job = TypeVar("_Job")
_Done = TypeVar("_Done")


def in_order(
    pool: Executor | None,
    work: Callable[[_Job], _Done],
    jobs: Iterable[_Job],
    ahead: int = AHEAD,
) -> Iterator[_Done]:
    """Yield ``work(job)`` for every job, in their order; here and now where `pool` is None.

    `jobs` may be as long as you like: it is drawn from as results are taken. Whatever `work`
    raises is raised in that job's place, and what was handed out behind it is called back.
    """
    if pool is None:
        yield from map(work, jobs)
        return
    waiting: deque[Future[_Done]] = deque()
    try:
        for job in jobs:
            waiting.append(pool.submit(work, job))
            if len(waiting) >= ahead:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()
    finally:
        for late in waiting:
            late.cancel()
