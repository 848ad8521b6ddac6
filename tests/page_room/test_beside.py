"""The map of faults that streams in is that of a rehearsal, and leaves off where nobody waits."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from diodewright.build import load
from diodewright.faults import by_id
from diodewright.page import beside
from diodewright.page.beside import Beside, LeftOff
from diodewright.rehearse.cases import cases_of, run_case
from diodewright.rehearse.moments import snapshots
from diodewright.report.facts import letter
from diodewright.sim import compiled
from diodewright.tune import context_of


def test_a_row_of_the_map_has_the_letters_of_a_rehearsal_with_those_settings(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The process's own functions, called here: a changed setting reaches the cases."""
    build = load("gel_viewer")
    context = context_of(build)
    monkeypatch.setattr("os.nice", lambda by: by)
    beside._here.begin(context)
    moments = beside._stand({})
    stands = snapshots(build, compiled(), 1)
    assert moments == tuple(stands)
    fault = by_id("diode-short")
    row = beside._fault_row(fault.id)
    wanted = {
        at.moment: letter(run_case(build, stands[at.moment], fault, at, 1).finding)
        for at in cases_of(build, fault, stands)
    }
    assert row.letters == "".join(wanted.get(at, ".") for at in moments)
    assert row.cases == len(wanted)
    beside._stand({"limits.mount_trip_degC": 70})
    assert beside._here.build.limits.mount_trip_degC == 70


def test_what_nobody_waits_for_is_left_off_and_the_process_ends() -> None:
    working = Beside(context_of(load("gel_viewer")))
    processes = working._pool
    try:
        with pytest.raises(LeftOff):
            list(working.spans(["limits.mount_trip_degC"], {}, lambda: False))
        process = next(iter((processes._processes or {}).values()))
    finally:
        working.close()
    # asked more than once: the pool's own thread may collect it first
    assert _soon(lambda: not process.is_alive(), 20)


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="this system tells no states")
def test_a_look_at_a_move_has_the_processor_to_itself_and_then_the_process_goes_on() -> None:
    working = Beside(context_of(load("gel_viewer")))
    try:
        found = working.spans(["limits.mount_trip_degC"] * 2, {}, lambda: True)
        _, before = next(found)
        (process,) = working._processes()
        told = Path(f"/proc/{process.pid}/stat")
        with working.still():
            assert _soon(lambda: _state(told) == "T", 5)
        assert _soon(lambda: _state(told) != "T", 5)
        _, after = next(found)
        assert after == before
    finally:
        working.close()


_KILLED = """
import os, signal
from diodewright.build import load
from diodewright.page.beside import Beside
from diodewright.tune import context_of
if __name__ == "__main__":
    working = Beside(context_of(load("gel_viewer")))
    next(working.spans(["limits.mount_trip_degC"], {}, lambda: True))
    print(*[process.pid for process in working._processes()], flush=True)
    os.kill(os.getpid(), signal.SIGKILL)
"""


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="this system tells no states")
def test_a_page_that_is_killed_leaves_no_process_behind(tmp_path: Path) -> None:
    script = tmp_path / "killed.py"
    script.write_text(_KILLED)
    said = tmp_path / "said"
    with said.open("w") as out:  # not a pipe: what is left behind would hold it open
        ran = subprocess.run([sys.executable, script], stdout=out, check=False)
    assert ran.returncode == -signal.SIGKILL
    (number,) = said.read_text().split()
    left = Path("/proc", number, "stat")
    # where nobody collects it, it stays in the list as what has ended
    ended = _soon(lambda: _state(left) in ("", "Z"), 5)
    if not ended:
        os.kill(int(number), signal.SIGKILL)
    assert ended


def _state(told: Path) -> str:
    """Return the letter of a process's state, from the system's list; "" where it is gone."""
    try:
        return told.read_text().rpartition(")")[2].split()[0]
    except (FileNotFoundError, ProcessLookupError):
        return ""


def _soon(is_so: Callable[[], bool], most_s: float) -> bool:
    """Wait until it is so, for so long [s] at most; a signal takes its time."""
    until_s = time.monotonic() + most_s
    while not (found := is_so()) and time.monotonic() < until_s:
        time.sleep(0.01)
    return found
