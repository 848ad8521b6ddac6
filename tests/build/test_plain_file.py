"""A text file is looked at before it is opened, and measured before it is read."""

import os
from pathlib import Path

import pytest

from diodewright.build.plain_file import Unreadable, printable, read_text


@pytest.fixture
def never_opened(monkeypatch: pytest.MonkeyPatch) -> None:
    """Make opening any file a failure: a pipe would wait for ever, a disk would be read whole."""

    def opened(path: Path, *_: object) -> None:
        pytest.fail(f"{path} was opened")

    monkeypatch.setattr(Path, "open", opened)


@pytest.mark.usefixtures("never_opened")
def test_pipe_device_folder_and_large_file_are_refused_unopened(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "large").touch()
    os.truncate(tmp_path / "large", 101)
    for name, said in (
        (tmp_path / "pipe", "is not a plain file"),
        (Path("/dev/zero"), "is not a plain file"),
        (tmp_path, "is a folder"),
        (tmp_path / "large", "larger than 100 bytes"),
    ):
        with pytest.raises(Unreadable, match=said):
            read_text(name, 100)


def test_a_file_of_the_allowed_size_is_read_and_one_byte_more_is_not(tmp_path: Path) -> None:
    file = tmp_path / "file"
    file.write_bytes(b"x" * 100)
    assert read_text(file, 100) == "x" * 100
    file.write_bytes(b"x" * 101)
    with pytest.raises(Unreadable, match="larger than 100 bytes"):
        read_text(file, 100)


def test_a_file_that_tells_no_size_is_measured_by_reading() -> None:
    # proc(5): files there have size 0 and content
    assert Path("/proc/self/status").stat().st_size == 0
    with pytest.raises(Unreadable, match="larger than 10 bytes"):
        read_text("/proc/self/status", 10)


@pytest.mark.parametrize(
    ("encoding", "said"),
    [
        ("utf-16", "not UTF-8 text but UTF-16"),
        ("utf-16-be", "not text: holds a zero byte"),
        ("utf-32", "not UTF-8 text but UTF-32"),
        ("latin-1", "not UTF-8 text; save it as UTF-8"),
    ],
)
def test_other_encodings_are_named_with_the_mend(tmp_path: Path, encoding: str, said: str) -> None:
    text = "a = 1\n" if encoding == "utf-16-be" else "é = 1\n"
    (tmp_path / "file").write_bytes(text.encode(encoding))
    with pytest.raises(Unreadable, match=said) as refusal:
        read_text(tmp_path / "file", 100)
    assert (refusal.value.mend, refusal.value.line) == ("save it as UTF-8", 1)


def test_a_byte_order_mark_is_no_part_of_the_text(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes("\ufeffé".encode())
    assert read_text(tmp_path / "file", 100) == "é"


def test_what_cannot_be_printed_becomes_a_mark() -> None:
    assert printable("a\x1b[31m\nb\udcffé") == "a?[31m?b?é"
