"""Files out: the report written whole or not at all."""

import os
import shutil
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path

from diodewright.build.plain_file import printable, why
from diodewright.rehearse import Rehearsal
from diodewright.report.page import render, render_card, render_label
from diodewright.report.reading import DOCUMENT
from diodewright.report.shape import document_of

__all__ = ["CannotWrite", "make_folder", "refuse_folder", "write_report", "write_together"]

PAGE = "report.html"
CARD = "card.html"
LABEL = "label.svg"


class CannotWrite(Exception):
    """The folder can't be made or written; names it and why, in one line."""


def write_report(done: Rehearsal, out: Path) -> Path:
    """Write document, page, card and label of `done` into `out`; return the page's path.

    The same document gives the same bytes.

    Raises
    ------
    CannotWrite
        The folder can't be made or written; what stood there stays.
    ValueError
        `done` does not have the shape of a document.
    """
    document = document_of(done)
    texts = {
        DOCUMENT: done.as_json(),
        PAGE: render(document),
        CARD: render_card(document),
        LABEL: render_label(document),
    }
    write_together(out, {name: _writer(text) for name, text in texts.items()})
    return out / PAGE


def _cannot(folder: Path, error: OSError | ValueError) -> CannotWrite:
    return CannotWrite(printable(f"{folder}: can't write there: {why(error)}"))


def make_folder(folder: Path) -> None:
    """Make `folder` where it is missing and try it, so that long work is not done for nothing.

    Raises
    ------
    CannotWrite
        It can't be made or written to, or is a file.
    """
    _staging(folder).rmdir()


def _staging(folder: Path) -> Path:
    """Return a new hidden folder inside `folder`, which is made where it is missing."""
    try:
        if folder.is_symlink() and not folder.exists():
            raise CannotWrite(f"{folder}: can't write there: it is a link that leads nowhere")
        if folder.exists() and not folder.is_dir():
            raise CannotWrite(f"{folder}: can't write there: it is a file, not a folder")
        folder.mkdir(parents=True, exist_ok=True)
        return Path(tempfile.mkdtemp(dir=folder, prefix=".part-"))
    except (OSError, ValueError) as error:
        raise _cannot(folder, error) from None


def _writer(text: str) -> Callable[[Path], object]:
    return lambda path: path.write_bytes(text.encode())


def write_together(folder: Path, writers: Mapping[str, Callable[[Path], object]]) -> list[Path]:
    """Let each writer make its file, then put all into `folder`: all of them or none.

    A process that is killed leaves each file as it was or whole, and at worst its hidden folder
    ``.part-...`` beside them.

    Parameters
    ----------
    writers : file name -> function that writes the path it is given.

    Raises
    ------
    CannotWrite
        The folder can't be made or written, or a folder stands where a file should.
    """
    staging = _staging(folder)
    targets = {name: folder / name for name in writers}
    try:
        for target in targets.values():
            refuse_folder(target)
        for name, write in writers.items():
            write(staging / name)
            _reach_the_disk(staging / name)
        _put(staging, targets)
    except OSError as error:
        raise _cannot(folder, error) from None
    finally:
        shutil.rmtree(staging, ignore_errors=True)
    return list(targets.values())


def refuse_folder(path: Path) -> None:
    """Raise CannotWrite where a folder stands at `path`, where a file should go."""
    if path.is_dir():
        raise CannotWrite(printable(f"{path}: a folder stands where the file should go"))


def _reach_the_disk(path: Path) -> None:
    """Wait until the file's bytes are stored: a full disk may say so only now."""
    with path.open("rb") as file:
        os.fsync(file.fileno())


def _put(staging: Path, targets: Mapping[str, Path]) -> None:
    """Put the staged files in place; where one can't be, or on Ctrl-C, put the old ones back."""
    kept = staging / "before"
    kept.mkdir()
    for name, target in targets.items():
        if target.exists():
            shutil.copy2(target, kept / name)
    placed: list[str] = []
    try:
        for name, target in targets.items():
            placed.append(name)
            (staging / name).replace(target)
    except BaseException:
        for name in placed:
            if (kept / name).exists():
                (kept / name).replace(targets[name])
            elif not (staging / name).exists():
                targets[name].unlink(missing_ok=True)
        raise
