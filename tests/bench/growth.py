"""How time and memory grow with the number of cases, and what a second core gives.

One step of growth runs in a process of its own (``python growth.py N WORKERS``), so that its
highest memory is its own; it prints one line of JSON.
"""

import itertools
import json
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from dataclasses import replace
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import story
from diodewright.faults import CORE, ENGINE
from diodewright.plant.params import STATE, index_of
from diodewright.rehearse.case_id import At
from diodewright.rehearse.cases import CaseJob, case_finding, lacks
from diodewright.rehearse.moments import snapshots
from diodewright.rehearse.sweep import in_order
from diodewright.sim import compiled

__all__ = ["grown"]

#: Cases that are watched for no longer than this [s]: a sweep repeats them under other seeds.
SHORT_s = 3.0
_NOISE = index_of(STATE)["noise_state"]


def _jobs(count: int) -> Iterator[CaseJob]:
    taken = snapshots(story.BUILD, compiled(), 1, CORE)
    faults = [each for each in ENGINE if each.watch_s <= SHORT_s]
    pairs = [(each, at) for each in faults if not lacks(story.BUILD, each) for at in CORE]
    for number, (fault, at) in enumerate(itertools.islice(itertools.cycle(pairs), count)):
        machine = taken[at].machine.copy()
        machine.x.flat[_NOISE] = number + 1
        stand = replace(taken[at], machine=machine)
        yield CaseJob(story.BUILD, stand, fault, At(at), number + 1)


def _pool(kind: str, workers: int) -> Any:
    if kind == "threads":
        return ThreadPoolExecutor(workers)
    return ProcessPoolExecutor(workers, mp_context=get_context("fork"))


def _waited_s(pool: Any, kind: str) -> float:
    """Return how long the mean worker stood ready while other work had its core [s] (Linux)."""
    if kind == "serial":
        tasks = [Path("/proc/self/task") / str(threading.get_native_id())]
    elif kind == "threads":
        tasks = [Path("/proc/self/task") / str(each.native_id) for each in pool._threads]
    else:
        tasks = [Path("/proc") / str(pid) for pid in pool._processes]
    waited_ns = [int((task / "schedstat").read_text().split()[1]) for task in tasks]
    return sum(waited_ns) / len(waited_ns) / 1e9


def _most_MB() -> float:
    """Return this program's highest memory (Linux); what started it does not count."""
    told = Path("/proc/self/status").read_text()
    return int(told.split("VmHWM:")[1].split()[0]) / 1024


def _measured(count: int, kind: str, workers: int) -> dict[str, float]:
    jobs = _jobs(count)
    first = next(jobs)
    case_finding(first)
    waiting = itertools.chain([first], jobs)
    pool = _pool(kind, workers) if workers > 1 else None
    if pool:
        # workers that have started, and have found the engine, before anything is timed
        list(in_order(pool, case_finding, [first] * 8 * workers))
    begin_s, cpu_s = time.perf_counter(), time.process_time()
    waited_s = _waited_s(pool, kind)
    survived = sum(found.survives for found in in_order(pool, case_finding, waiting))
    wall_s = time.perf_counter() - begin_s
    taken = {
        "wall_s": wall_s,
        "free_s": wall_s - (_waited_s(pool, kind) - waited_s),
        "cpu_s": time.process_time() - cpu_s,
        "survived": survived,
    }
    if pool:
        pool.shutdown()
    return taken | {"most_MB": _most_MB()}


def grown(count: int, kind: str = "serial", workers: int = 1) -> dict[str, float]:
    """Return time, memory and outcome of `count` cases in a process of their own."""
    command = [sys.executable, __file__, str(count), kind, str(workers)]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    found: dict[str, float] = json.loads(done.stdout)
    return found


if __name__ == "__main__":
    print(json.dumps(_measured(int(sys.argv[1]), sys.argv[2], int(sys.argv[3]))))
