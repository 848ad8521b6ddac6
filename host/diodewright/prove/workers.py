"""A proof on several processes: each takes the next obligation until none is left."""

import json
import os
import subprocess
import sys
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from queue import Empty, SimpleQueue
from threading import Thread, Timer

import diodedriver
import diodewright
from diodewright.prove.obligations import obligation_of
from diodewright.prove.verdict import Verdict

__all__ = ["decide_all"]

#: Over the solver's own time [s] until a worker that doesn't answer is stopped.
_GRACE_S = 30.0


def decide_all(
    source: str,
    ids: Sequence[str],
    timeout_s: float,
    settings: Mapping[str, int] | None,
    workers: int,
    say: Callable[[str], None],
) -> dict[str, Verdict]:
    """Return the verdict on each of `ids`, found by `workers` processes side by side."""
    waiting: SimpleQueue[str] = SimpleQueue()
    for name in reversed(ids):  # the long ones stand last
        waiting.put(name)
    job = {"source": source, "timeout_s": timeout_s, "settings": dict(settings or {}) or None}
    found: dict[str, Verdict] = {}

    def work() -> None:
        worker = _begun(job)
        while (name := _next(waiting)) is not None:
            say(name)
            verdict = _ask(worker, name, timeout_s)
            if verdict is None:
                _stop(worker)
                worker = _begun(job)
                why = "the solver did not stop in time, or ended"
                verdict = Verdict(
                    name, obligation_of(name).meaning, "undecided", timeout_s + _GRACE_S, why
                )
            found[name] = verdict
        _stop(worker)

    threads = [Thread(target=work) for _ in range(workers)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return found


def _stop(worker: "subprocess.Popen[str]") -> None:
    """End a worker, which keeps nothing, and close its pipes."""
    worker.kill()
    for pipe in (worker.stdin, worker.stdout):
        if pipe is not None:
            with suppress(OSError):
                pipe.close()
    worker.wait()


def _next(waiting: "SimpleQueue[str]") -> str | None:
    try:
        return waiting.get_nowait()
    except Empty:
        return None


def _begun(job: Mapping[str, object]) -> "subprocess.Popen[str]":
    roots = [str(Path(module.__file__ or "").parents[1]) for module in (diodewright, diodedriver)]
    given = os.environ.get("PYTHONPATH")
    path = os.pathsep.join([*roots, *([given] if given else [])])
    worker = subprocess.Popen(
        [sys.executable, "-m", "diodewright.prove.worker"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env=os.environ | {"PYTHONPATH": path},
    )
    assert worker.stdin is not None
    worker.stdin.write(json.dumps(job) + "\n")
    worker.stdin.flush()
    return worker


def _ask(worker: "subprocess.Popen[str]", name: str, timeout_s: float) -> Verdict | None:
    """Return the worker's verdict; None where it gave none in time."""
    assert worker.stdin is not None
    assert worker.stdout is not None
    stop = Timer(timeout_s + _GRACE_S, worker.kill)
    stop.start()
    try:
        worker.stdin.write(name + "\n")
        worker.stdin.flush()
        line = worker.stdout.readline()
    except OSError:
        line = ""
    finally:
        stop.cancel()
    return Verdict(**json.loads(line)) if line else None
