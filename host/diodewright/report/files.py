"""Files in and out: the document read back, the report written whole or not at all."""

import json
import shutil
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import NoReturn

from diodewright.rehearse import Rehearsal
from diodewright.report.page import render
from diodewright.report.shape import document_of

__all__ = [
    "BadDocument",
    "CannotWrite",
    "make_folder",
    "read_document",
    "write_report",
    "write_together",
]

DOCUMENT = "rehearsal.json"
PAGE = "report.html"


class BadDocument(ValueError):
    """The file is no rehearsal document; names file and what is wrong, in one line."""


class CannotWrite(Exception):
    """The folder can't be made or written; names it and why, in one line."""


def read_document(path: Path) -> Rehearsal:
    """Return the Rehearsal that ``rehearse --json`` printed or a report keeps.

    Raises
    ------
    BadDocument
        The file can't be read, is not JSON, or is no document of this format.
    """
    try:
        text = path.read_text(encoding="utf-8")
    except IsADirectoryError:
        raise BadDocument(f"{path}: is a folder; give the {DOCUMENT} in it") from None
    except OSError as error:
        raise BadDocument(f"{path}: can't be read: {error.strerror}") from None
    except UnicodeDecodeError:
        raise BadDocument(f"{path}: not UTF-8 text, so not a rehearsal document") from None
    try:
        values = json.loads(text, parse_constant=_refuse_constant)
    except (ValueError, RecursionError) as error:
        raise BadDocument(f"{path}: not JSON: {error}") from None
    if not isinstance(values, dict):
        raise BadDocument(f"{path}: not a rehearsal document: no object at its top")
    try:
        done = Rehearsal.from_dict(values)
        document_of(done)
    except ValueError as error:
        raise BadDocument(f"{path}: not a rehearsal document: {error}") from None
    return done


def _refuse_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number")


def write_report(done: Rehearsal, out: Path) -> Path:
    """Write document and page of `done` into the folder `out` and return the page's path.

    The same document gives the same bytes.

    Raises
    ------
    CannotWrite
        The folder can't be made or written; what stood there stays.
    ValueError
        `done` does not have the shape of a document.
    """
    make_folder(out)
    texts = {DOCUMENT: done.as_json(), PAGE: render(document_of(done))}
    write_together(out, {name: _writer(text) for name, text in texts.items()})
    return out / PAGE


def _cannot(folder: Path, error: OSError) -> CannotWrite:
    return CannotWrite(f"{folder}: can't write there: {error.strerror}")


def make_folder(folder: Path) -> None:
    """Make `folder` where it is missing, so that long work is not done for nothing.

    Raises
    ------
    CannotWrite
        It can't be made, or is a file.
    """
    if folder.exists() and not folder.is_dir():
        raise CannotWrite(f"{folder}: can't write there: it is a file, not a folder")
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise _cannot(folder, error) from None


def _writer(text: str) -> Callable[[Path], object]:
    return lambda path: path.write_bytes(text.encode())


def write_together(folder: Path, writers: Mapping[str, Callable[[Path], object]]) -> list[Path]:
    """Let each writer make its file, then put all into `folder`: all of them or none.

    Parameters
    ----------
    writers : file name -> function that writes the path it is given.

    Raises
    ------
    CannotWrite
        The folder can't be made or written, or a folder stands where a file should.
    """
    make_folder(folder)
    try:
        staging = Path(tempfile.mkdtemp(dir=folder, prefix=".part-"))
    except OSError as error:
        raise _cannot(folder, error) from None
    targets = {name: folder / name for name in writers}
    try:
        blocked = [target for target in targets.values() if target.is_dir()]
        if blocked:
            raise CannotWrite(f"{blocked[0]}: a folder stands where the file should go")
        for name, write in writers.items():
            write(staging / name)
        for name, target in targets.items():
            (staging / name).replace(target)
    except OSError as error:
        raise _cannot(folder, error) from None
    finally:
        shutil.rmtree(staging, ignore_errors=True)
    return list(targets.values())
