"""The PDF: by a Chromium where there is one, else INCOMPLETE; whole or not at all."""

import os
import stat
import subprocess
import sys
import time
from pathlib import Path

import pytest

from diodewright.report.pdf import NAMES, NoPdf, chromium, write_pdf

RESULT = Path(__file__).parent / "smoke_tunnel.json"
needs_chromium = pytest.mark.skipif(chromium() is None, reason="no Chromium on this machine")


def _report(out: Path, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [
            sys.executable,
            "-m",
            "diodewright.cli",
            "report",
            str(RESULT),
            "--out",
            str(out),
            "--pdf",
        ],
        capture_output=True,
        text=True,
        check=False,
        timeout=600,
        env=os.environ | environment,
    )


def _browser(folder: Path, script: str) -> Path:
    """Write a program that stands in for the browser; `$made` is the PDF that it is asked for."""
    path = folder / "browser"
    path.write_text(
        f'#!/bin/sh\nfor word; do made="${{word#--print-to-pdf=}}"\n'
        f'[ "$made" = "$word" ] || break; done\n{script}\n'
    )
    path.chmod(path.stat().st_mode | stat.S_IXUSR)
    return path


@needs_chromium
def test_the_report_comes_as_pdf_too_and_names_both(tmp_path: Path) -> None:
    done = _report(tmp_path / "out")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.splitlines() == [
        str(tmp_path / "out" / "report.html"),
        str(tmp_path / "out" / "report.pdf"),
    ]
    data = (tmp_path / "out" / "report.pdf").read_bytes()
    assert data.startswith(b"%PDF-")
    assert 50_000 < len(data) < 5_000_000


def test_without_a_chromium_the_page_is_written_and_the_verb_incomplete(tmp_path: Path) -> None:
    done = _report(tmp_path / "out", PATH=str(tmp_path), DIODEWRIGHT_CHROMIUM="")
    assert done.returncode == 3
    assert done.stderr.startswith("INCOMPLETE: ")
    assert len(done.stderr.splitlines()) == 1
    for word in ("report.html is written, report.pdf is not", "DIODEWRIGHT_CHROMIUM", *NAMES):
        assert word in done.stderr
    assert done.stdout == f"{tmp_path / 'out' / 'report.html'}\n"
    names = {path.name for path in (tmp_path / "out").iterdir()}
    assert names == {"card.html", "label.svg", "rehearsal.json", "report.html"}


def test_a_browser_that_is_named_goes_before_those_that_are_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    named = _browser(tmp_path, "exit 0")
    monkeypatch.setenv("DIODEWRIGHT_CHROMIUM", str(named))
    assert chromium() == str(named)
    monkeypatch.setenv("DIODEWRIGHT_CHROMIUM", str(tmp_path / "absent"))
    assert chromium() is None


@pytest.mark.parametrize(
    ("script", "says"),
    [
        ("exit 1", "gave no whole PDF"),
        ("printf 'no pdf' > \"$made\"", "gave no whole PDF"),
        ("printf '%%PDF-1.4 half' > \"$made\"", "gave no whole PDF"),
        ("exec sleep 60", "took longer than 1 s"),
    ],
    ids=["nothing", "other", "half", "hangs"],
)
def test_a_browser_that_fails_leaves_the_pdf_that_stood_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, script: str, says: str
) -> None:
    monkeypatch.setenv("DIODEWRIGHT_CHROMIUM", str(_browser(tmp_path, script)))
    out = tmp_path / "out"
    out.mkdir()
    (out / "report.html").write_text("page")
    (out / "report.pdf").write_text("old")
    with pytest.raises(NoPdf, match=says) as refusal:
        write_pdf(out / "report.html", timeout_s=1)
    assert "\n" not in str(refusal.value)
    assert {path.name: path.read_text() for path in out.iterdir()} == {
        "report.html": "page",
        "report.pdf": "old",
    }


def test_a_whole_pdf_takes_the_old_ones_place(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = "printf '%%PDF-1.4\\nnew\\n%%%%EOF\\n' > \"$made\""
    monkeypatch.setenv("DIODEWRIGHT_CHROMIUM", str(_browser(tmp_path, made)))
    page = tmp_path / "out" / "report.html"
    page.parent.mkdir()
    page.write_text("page")
    page.with_suffix(".pdf").write_text("old")
    assert write_pdf(page) == page.with_suffix(".pdf")
    assert page.with_suffix(".pdf").read_text() == "%PDF-1.4\nnew\n%%EOF\n"


def test_nothing_of_a_browser_that_hangs_lives_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its children neither: they are of its session, which is ended whole."""
    child = tmp_path / "child"
    script = f"sleep 60 & echo $! > {child}; wait"
    monkeypatch.setenv("DIODEWRIGHT_CHROMIUM", str(_browser(tmp_path, script)))
    (tmp_path / "report.html").write_text("page")
    with pytest.raises(NoPdf, match="took longer"):
        write_pdf(tmp_path / "report.html", timeout_s=2)
    stat_line = Path(f"/proc/{child.read_text().strip()}/stat")
    deadline = time.monotonic() + 10
    while stat_line.exists() and stat_line.read_text().split()[2] != "Z":
        assert time.monotonic() < deadline, "it lives"
        time.sleep(0.05)


def test_a_program_that_can_not_run_is_told_in_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    broken = _browser(tmp_path, "")
    broken.write_text("#!/nowhere/at/all\n")
    monkeypatch.setenv("DIODEWRIGHT_CHROMIUM", str(broken))
    (tmp_path / "report.html").write_text("page")
    with pytest.raises(NoPdf, match="No such file or directory"):
        write_pdf(tmp_path / "report.html")
