"""How a run ends when the world does: reader gone, disk full, output closed, Ctrl-C, kill -9."""

import os
import resource
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import click
import pytest

from diodewright.build import template
from diodewright.cli import ending

RUN = [sys.executable, "-m", "diodewright.cli"]
RESULT = Path(__file__).parents[1] / "report" / "smoke_tunnel.json"


def shell(line: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    """Run a line of bash in which `$D` is the command line."""
    return subprocess.run(
        ["bash", "-c", line],
        cwd=cwd,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
        env=os.environ | {"D": " ".join(RUN)},
    )


@pytest.mark.parametrize("verb", ["parts", "faults --json", "size smoke_tunnel", "new lamp"])
def test_a_reader_that_goes_away_ends_the_run_quietly_and_never_as_a_verdict(
    tmp_path: Path, verb: str
) -> None:
    # a reader of nothing at all: the pipe is closed before the first line comes
    done = shell(f"$D {verb} | true; echo ${{PIPESTATUS[0]}}", tmp_path)
    assert (done.stdout, done.stderr) == (f"{128 + signal.SIGPIPE}\n", "")


def test_the_first_line_of_a_list_comes_through_a_pipe(tmp_path: Path) -> None:
    done = shell("$D parts | head -1", tmp_path)
    assert (done.stdout, done.stderr, done.returncode) == ("Cells: pack.part\n", "", 0)


@pytest.mark.parametrize("verb", ["parts", "faults --json", "new lamp", "--help"])
def test_a_full_disk_behind_the_output_is_one_message_and_exit_2(tmp_path: Path, verb: str) -> None:
    done = shell(f"$D {verb} > /dev/full", tmp_path)
    assert done.returncode == 2
    assert done.stderr == "the output: can't be written: No space left on device\n"


@pytest.mark.parametrize("verb", ["parts", "faults --json", "new lamp"])
def test_a_closed_output_is_nowhere(tmp_path: Path, verb: str) -> None:
    done = shell(f"$D {verb} >&-", tmp_path)
    assert (done.returncode, done.stderr) == (0, "")


def _limited(most_bytes: int) -> Callable[[], None]:
    """Return what lets no file of the child grow beyond `most_bytes`: a real failing write."""
    return lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, most_bytes))


@pytest.mark.parametrize(
    ("words", "most_bytes", "files"),
    [
        (("new", "lamp", "--write"), 1000, ["lamp.toml"]),
        # the document fits, the page behind it does not: neither may come
        (("report", str(RESULT), "--out", "."), 60_000, ["rehearsal.json", "report.html"]),
        (("report", str(RESULT), "--out", "."), 100, ["rehearsal.json", "report.html"]),
    ],
    ids=["new", "page", "document"],
)
def test_a_write_that_fails_half_way_leaves_what_stood_there(
    tmp_path: Path, words: tuple[str, ...], most_bytes: int, files: list[str]
) -> None:
    if words[0] != "new":
        for name in files:
            (tmp_path / name).write_text("old")
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    limit = _limited(most_bytes)
    done = subprocess.run(
        [*RUN, *words], cwd=tmp_path, capture_output=True, text=True, check=False, preexec_fn=limit
    )
    assert done.returncode == 2, done.stderr
    assert done.stderr.strip().endswith("File too large")
    assert len(done.stderr.splitlines()) == 1
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_a_case_whose_trace_does_not_fit_writes_nothing(tmp_path: Path) -> None:
    limit = _limited(30_000)
    done = subprocess.run(
        [*RUN, "case", "smoke_tunnel", "diode-open@soft-start", "--out", "there"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
        preexec_fn=limit,
    )
    assert (done.returncode, done.stdout) == (2, ""), done.stderr
    assert done.stderr == "there: can't write there: File too large\n"
    assert list((tmp_path / "there").iterdir()) == []


def test_ctrl_c_during_the_work_ends_with_130_and_leaves_no_file(tmp_path: Path) -> None:
    child = subprocess.Popen(
        [*RUN, "rehearse", "smoke_tunnel", "--out", "there"],
        cwd=tmp_path,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    begun = time.monotonic()
    while not (tmp_path / "there").is_dir() and time.monotonic() < begun + 60:
        time.sleep(0.01)
    time.sleep(0.3)
    child.send_signal(signal.SIGINT)
    out, err = child.communicate(timeout=60)
    assert (child.returncode, out, err.strip()) == (130, "", "")
    assert list((tmp_path / "there").iterdir()) == []


def test_ctrl_c_outside_of_a_verb_is_130_as_well() -> None:
    def main(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    verbs = click.Group()
    verbs.main = main  # type: ignore[method-assign, assignment]
    assert ending._outcome(verbs) == 130


#: Writes two files over and over, each time all of one letter.
_WRITER = """
import sys
from itertools import cycle
from pathlib import Path
from diodewright.report.files import write_together
print("ready", flush=True)
for letter in cycle("ab"):
    write = lambda path: path.write_text(letter * 3_000_000)
    write_together(Path(sys.argv[1]), {"one.txt": write, "two.txt": write})
"""


@pytest.mark.parametrize("round_ms", [3, 11, 17, 29, 41, 60])
def test_kill_9_in_the_middle_of_writing_leaves_whole_files(tmp_path: Path, round_ms: int) -> None:
    whole = 3_000_000
    for name in ("one.txt", "two.txt"):
        (tmp_path / name).write_text("o" * whole)
    child = subprocess.Popen(
        [sys.executable, "-c", _WRITER, str(tmp_path)], stdout=subprocess.PIPE, text=True
    )
    assert child.stdout is not None
    assert child.stdout.readline() == "ready\n"
    time.sleep(round_ms / 1000)
    child.kill()
    child.communicate(timeout=30)
    for name in ("one.txt", "two.txt"):
        text = (tmp_path / name).read_text()
        assert len(text) == whole
        assert len(set(text)) == 1
    left = {path.name for path in tmp_path.iterdir()} - {"one.txt", "two.txt"}
    assert all(name.startswith(".part-") for name in left)


def test_a_killed_run_is_no_hindrance_to_the_next(tmp_path: Path) -> None:
    (tmp_path / ".part-left").mkdir()
    (tmp_path / ".lamp.toml.part").mkdir()
    done = shell("$D new lamp --write", tmp_path)
    assert done.returncode == 0
    assert (tmp_path / "lamp.toml").read_text("utf-8") == template("lamp")


def test_an_engine_that_cannot_be_stored_is_incomplete_not_an_internal_error(
    tmp_path: Path,
) -> None:
    env = os.environ | {"DIODEWRIGHT_CACHE": str(tmp_path / "cache")}
    done = subprocess.run(
        [*RUN, "rehearse", "smoke_tunnel", "--only", "use"],
        cwd=tmp_path,
        env=env,
        capture_output=True,
        text=True,
        check=False,
        preexec_fn=_limited(10),
    )
    assert (done.returncode, done.stdout) == (3, "")
    assert done.stderr.startswith("INCOMPLETE: no compiled engine: ")
    assert "Traceback" not in done.stderr
    shutil.rmtree(tmp_path / "cache")
