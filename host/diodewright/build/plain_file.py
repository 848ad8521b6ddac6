"""A text file: looked at before it is opened, measured before it is read, replaced only whole."""

import errno
import os
import stat
import tempfile
from pathlib import Path

__all__ = ["Unreadable", "printable", "read_text", "replace_whole", "why"]

#: What a few system errors mean for the one who named the path.
_SAID = {
    errno.ELOOP: "its links lead round in a circle",
    errno.ENOTDIR: "something on the way to it is a file, not a folder",
    errno.ENAMETOOLONG: "its name is too long",
}
#: First bytes -> the encoding that they tell of; the longer mark first.
_MARKS = (
    (b"\xff\xfe\0\0", "UTF-32"),
    (b"\0\0\xfe\xff", "UTF-32"),
    (b"\xff\xfe", "UTF-16"),
    (b"\xfe\xff", "UTF-16"),
)
_MEND = "save it as UTF-8"


class Unreadable(Exception):
    """A file that is not read: what is wrong, how to mend it, and in which line, if in one."""

    def __init__(self, wrong: str, mend: str = "", line: int | None = None) -> None:
        self.wrong, self.mend, self.line = wrong, mend, line
        super().__init__("; ".join(part for part in (wrong, mend) if part))


def printable(text: str) -> str:
    """Return `text` on one line, with a mark for each character that can't be printed."""
    return "".join(char if char.isprintable() else "?" for char in text)


def why(error: OSError | ValueError) -> str:
    """Return in words why the system would not."""
    said = _SAID.get(error.errno or 0) if isinstance(error, OSError) else None
    return said or getattr(error, "strerror", None) or str(error)


def read_text(name: str | Path, most_bytes: int) -> str:
    """Return a plain file's text: UTF-8, with or without a byte order mark.

    A pipe, a device or a file larger than `most_bytes` is refused before a byte is read: each
    could be read for ever.

    Raises
    ------
    Unreadable
        It is no plain file, too large, unreadable or no UTF-8 text.
    FileNotFoundError
        There is none: what to do instead is the caller's to say.
    """
    try:
        state = Path(name).stat()
        _refuse_unlike_a_file(state, most_bytes)
        with Path(name).open("rb") as file:
            # what tells no size (/proc) is measured by reading
            data = file.read(most_bytes + 1)
    except FileNotFoundError:
        raise
    except (OSError, ValueError) as error:
        raise Unreadable(f"can't be read: {why(error)}") from None
    if len(data) > most_bytes:
        raise Unreadable(f"larger than {most_bytes} bytes")
    return _decoded(data)


def _refuse_unlike_a_file(state: os.stat_result, most_bytes: int) -> None:
    if stat.S_ISDIR(state.st_mode):
        raise Unreadable("is a folder")
    if not stat.S_ISREG(state.st_mode):
        raise Unreadable("is not a plain file")
    if state.st_size > most_bytes:
        raise Unreadable(f"larger than {most_bytes} bytes")


def _decoded(data: bytes) -> str:
    for mark, encoding in _MARKS:
        if data.startswith(mark):
            raise Unreadable(f"not UTF-8 text but {encoding}", _MEND, 1)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise Unreadable("not UTF-8 text", _MEND, data[: error.start].count(b"\n") + 1) from None
    if "\0" in text:
        line = text[: text.index("\0")].count("\n") + 1
        raise Unreadable("not text: holds a zero byte", _MEND, line)
    return text


def replace_whole(path: Path, text: str) -> None:
    """Write `text` where `path` is, in the place of what may stand there: whole or not at all.

    Raises
    ------
    OSError
        The folder can't be written; nothing is left behind.
    """
    with tempfile.NamedTemporaryFile(
        "w", dir=path.parent, prefix=".part-", delete=False, encoding="utf-8"
    ) as part:
        staged = Path(part.name)
        try:
            part.write(text)
            part.flush()
            staged.replace(path)
        finally:
            staged.unlink(missing_ok=True)
