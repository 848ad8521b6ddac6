"""`rehearse --junit`: a file for a build server, beside all else that a rehearsal gives."""

import json
import os
import resource
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from junitparser import JUnitXml

from command import diodewright
from diodewright.rehearse import rehearsal

Here = Callable[..., tuple[int, str, str]]

USE = ("rehearse", "smoke_tunnel", "--only", "use")


def test_the_file_stands_beside_document_and_report_and_says_what_was_not_judged(
    tmp_path: Path,
) -> None:
    done = diodewright(*USE, "--junit", "new/it.xml", "--json", "--out", "there", cwd=tmp_path)
    assert done.returncode == 3, done.stderr
    assert json.loads(done.stdout)["verdict"] == "INCOMPLETE"
    assert (tmp_path / "there" / "report.html").exists()
    read = JUnitXml.fromfile(str(tmp_path / "new" / "it.xml"))
    told = {
        suite.name: [case.name for case in suite if not case.is_passed]
        for suite in read
        if suite.errors or suite.failures
    }
    assert told == {
        "smoke_tunnel.edges": ["edges"],
        "smoke_tunnel.faults": ["faults"],
        "smoke_tunnel.proof": ["proof"],
        "smoke_tunnel.verdict": ["verdict"],
    }
    assert read.failures == 0
    assert [path.name for path in (tmp_path / "new").iterdir()] == ["it.xml"]


def test_a_build_that_fails_has_failures_with_their_cause(tmp_path: Path) -> None:
    text = diodewright("new", "slow", cwd=tmp_path).stdout
    slow = "\n".join(
        "delay_us = 5" if line.startswith("delay_us") else line for line in text.splitlines()
    )
    (tmp_path / "slow.toml").write_text(slow, encoding="utf-8")
    done = diodewright(
        "rehearse", "slow.toml", "--only", "faults", "--junit", "it.xml", cwd=tmp_path
    )
    assert done.returncode == 1, done.stderr
    suites = {suite.name: suite for suite in JUnitXml.fromfile(str(tmp_path / "it.xml"))}
    failed = {case.name: case.result[0] for case in suites["slow.faults"] if case.result}
    assert "stage-full-on@steady" in failed
    assert "law saw   latch: " in failed["stage-full-on@steady"].text
    assert "diodewright case slow.toml stage-full-on@steady" in failed["stage-full-on@steady"].text
    assert next(iter(suites["slow.verdict"])).result[0].message.startswith("FAILS: ")


def test_a_file_that_cannot_be_written_is_refused_before_the_work(
    tmp_path: Path, here: Here, monkeypatch: pytest.MonkeyPatch
) -> None:
    def never(*_: object, **__: object) -> None:
        raise AssertionError("the long work was begun")

    monkeypatch.setattr(rehearsal, "_run_use", never)
    monkeypatch.chdir(tmp_path)
    (tmp_path / "folder").mkdir()
    (tmp_path / "file").write_text("mine")
    for name, said in (
        ("folder", "folder: a folder stands where the file should go"),
        ("file/it.xml", "file: can't write there: it is a file, not a folder"),
        ("", "names no file"),
    ):
        code, out, err = here(*USE, "--junit", name)
        assert (code, out) == (2, ""), err
        assert said in err
    assert (tmp_path / "file").read_text() == "mine"


def test_a_write_that_fails_leaves_the_old_file(tmp_path: Path) -> None:
    (tmp_path / "it.xml").write_text("old")
    done = subprocess.run(
        [sys.executable, "-m", "diodewright.cli", *USE, "--junit", "it.xml"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000)),
    )
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == ".: can't write there: File too large\n"
    assert {path.name: path.read_text() for path in tmp_path.iterdir()} == {"it.xml": "old"}


def test_without_an_engine_the_file_holds_an_error_and_no_old_answer(tmp_path: Path) -> None:
    (tmp_path / "it.xml").write_text("old")
    code = "import sys\nsys.modules['numba'] = None\nfrom diodewright.cli import main\nmain()\n"
    done = subprocess.run(
        [sys.executable, "-c", code, *USE, "--junit", "it.xml"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
        env=os.environ,
    )
    assert done.returncode == 3
    assert done.stderr.startswith("INCOMPLETE: no compiled engine")
    (suite,) = JUnitXml.fromfile(str(tmp_path / "it.xml"))
    (case,) = suite
    assert (suite.tests, suite.errors, suite.failures) == (1, 1, 0)
    assert case.result[0].message.startswith("INCOMPLETE: no compiled engine")
