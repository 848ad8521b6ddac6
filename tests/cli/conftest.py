"""A folder full of files that no verb may take."""

import os
from pathlib import Path

import pytest

from diodewright.build import template

RESULT = Path(__file__).parents[1] / "report" / "smoke_tunnel.json"


def _write(name: str, content: bytes | str) -> None:
    Path(name).write_bytes(content if isinstance(content, bytes) else content.encode())


@pytest.fixture
def yard(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return the current folder, filled with odd files: ``what.toml`` and ``what.json``."""
    monkeypatch.chdir(tmp_path)
    result = RESULT.read_text("utf-8")
    lamp = template("lamp")
    for ending, text in ((".toml", lamp), (".json", result)):
        _write(f"good{ending}", text)
        _write(f"bom{ending}", b"\xef\xbb\xbf" + text.encode())
        _write(f"utf16{ending}", text.encode("utf-16"))
        _write(f"utf32{ending}", text.encode("utf-32"))
        _write(f"latin{ending}", text.replace("workshop", "worksh\xf6p").encode("latin-1"))
        _write(f"zero{ending}", text.replace("workshop", "work\0shop"))
        _write(f"empty{ending}", b"")
        _write(f"deep{ending}", "a = " + "[" * 5000 if ending == ".toml" else "[" * 100_000)
        with Path(f"huge{ending}").open("wb") as file:
            file.truncate(10**10)  # a hole: it takes no room
        Path(f"loop{ending}").symlink_to(f"loop{ending}")
        os.mkfifo(f"pipe{ending}")
        Path(f"folder{ending}").mkdir()
    for name, value in (
        ("nan", "nan"),
        ("inf", "-inf"),
        ("wide", "9" * 40),
        ("float", "1e400"),
        ("text", '"1.5"'),
    ):
        assert lamp.count("\nfull_A = 1.5\n") == 1
        _write(f"{name}.toml", lamp.replace("\nfull_A = 1.5\n", f"\nfull_A = {value}\n"))
    figure = '"classified_W": '
    begin, _, rest = result.partition(figure)
    end = rest[rest.index(",") :]
    for name, value in (
        ("nan", "NaN"),
        ("inf", "-Infinity"),
        ("wide", "9" * 40),
        ("digits", "9" * 5000),
        ("float", "1e400"),
        ("text", '"1.5"'),
        ("twice", '1.5, "title": "no"'),
        ("nested", f'1.5, "more": {"[" * 500}{"]" * 500}'),
        ("half", '1.5, "more": "\\ud800"'),
    ):
        _write(f"{name}.json", begin + figure + value + end)
    _write("file", "mine")
    Path("circle").symlink_to("circle")
    return tmp_path
