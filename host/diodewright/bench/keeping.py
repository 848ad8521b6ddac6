"""A recording on its way: kept in memory, and line by line in a side file until it is whole.

The side file (``NAME.npz.lines``) holds every call of the recorder in its order, and each goes to
the system at once: a process that is killed loses nothing, and `recovered` makes the recording of
it. It goes away once the recording stands. Where the disk is full before that, recording goes on in
memory, and the screen says so.

Limits. What the machine itself had not stored when its power went is lost, some seconds of it.
"""

import fcntl
import json
from collections.abc import Mapping
from pathlib import Path
from typing import TextIO

from diodewright.bench.problems import BenchError
from diodewright.bench.record import Heard, Recorder, refuse_ending, save
from diodewright.build.plain_file import Unreadable, printable, read_text, why

__all__ = ["SIDE", "Keeper", "recovered", "side_of"]

#: What a side file's name has behind the recording's.
SIDE = ".lines"
FORMAT = 1
_MOST_BYTES = 4_000_000_000


def side_of(path: Path) -> Path:
    """Return the side file of a recording at `path`."""
    return path.with_name(path.name + SIDE)


class Keeper:
    """A `Recorder` that also writes its side file; with no path it keeps nothing on disk.

    Raises
    ------
    BenchError
        Another ending, a file of that name stands there, a side file too, or it can't be made.
    """

    def __init__(self, rate_Hz: float, provenance: Mapping[str, object], path: Path | None) -> None:
        self.recorder = Recorder(rate_Hz, provenance)
        self.path = path
        #: Why the side file is no longer written; "" where it is.
        self.stopped = ""
        self._side: TextIO | None = None
        if path is not None:
            head = {"format": FORMAT, "rate_Hz": rate_Hz, "provenance": dict(provenance)}
            self._side = _opened(path)
            self._write(json.dumps(head, sort_keys=True))

    # the recorder's calls

    def take(self, line: str, host_s: float) -> Heard | None:
        """Take one line of telemetry (see `Recorder.take`)."""
        self._put("line", host_s, line)
        return self.recorder.take(line, host_s)

    def note(self, text: str, host_s: float) -> None:
        """Add an event at this moment."""
        self._put("note", host_s, text)
        self.recorder.note(text, host_s)

    def lost(self, why_lost: str, host_s: float) -> None:
        """Take notice that nothing comes any more."""
        self._put("lost", host_s, why_lost)
        self.recorder.lost(why_lost, host_s)

    def restarted(self, host_s: float) -> None:
        """Take notice that the board was reset."""
        self._put("restarted", host_s, "")
        self.recorder.restarted(host_s)

    # the end

    def finish(self) -> Path | None:
        """Write the recording whole, then drop the side file; return where it stands.

        Raises
        ------
        BenchError
            It can't be written: says where the side file is, which then stays.
        """
        path, side = self.path, self._side
        if path is None:
            return None
        try:
            save(self.recorder.trace(), path)
        except BenchError as error:
            raise BenchError(f"{error}; {self._what_is_left()}") from None
        finally:
            if side is not None:
                side.close()
        side_of(path).unlink(missing_ok=True)
        return path

    def _what_is_left(self) -> str:
        if self.path is None or not side_of(self.path).exists():
            return "nothing is kept"
        cut = f" up to where {self.stopped}" if self.stopped else ""
        return printable(f"make room, then use --recover: {side_of(self.path)} has it{cut}")

    def _put(self, kind: str, host_s: float, text: str) -> None:
        if self._side is not None and not self.stopped:
            self._write(f"{host_s:.3f}\t{kind}\t{printable(text)}")

    def _write(self, line: str) -> None:
        if self._side is None:
            return
        try:
            self._side.write(line + "\n")
            self._side.flush()
        except OSError as error:
            self.stopped = why(error)


def _opened(path: Path) -> TextIO:
    """Return the side file of `path`, newly made and locked."""
    refuse_ending(path)
    side = side_of(path)
    if path.exists() or path.is_symlink():
        raise BenchError(printable(f"{path}: stands there already; name another, or move it away"))
    try:
        file = side.open("x", encoding="utf-8")
    except FileExistsError:
        raise BenchError(printable(f"{side}: {_state_of(side)}")) from None
    except OSError as error:
        raise BenchError(printable(f"{path}: can't be written: {why(error)}")) from None
    fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    return file


def _state_of(side: Path) -> str:
    """Say of a side file that stands there whether somebody still writes it."""
    if _is_written(side):
        return "a recording of that name is being made right now"
    return "a recording that was cut off: save it first, with --recover in place of --port"


def _is_written(side: Path) -> bool:
    with side.open("rb") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            return True
    return False


def recovered(path: Path) -> Recorder:
    """Make the recording `path` of its side file, drop that, and return the recorder.

    Raises
    ------
    BenchError
        No side file, one that is being written, is none of ours or damaged; or `path` can't be
        written or stands there already.
    """
    refuse_ending(path)
    side = side_of(path)
    if path.exists():
        raise BenchError(printable(f"{path}: stands there already; name another, or move it away"))
    try:
        text = read_text(side, _MOST_BYTES)
        if _is_written(side):
            raise BenchError(printable(f"{side}: {_state_of(side)}"))
        recorder = _replayed(text)
    except FileNotFoundError:
        raise BenchError(printable(f"{side}: no such file: nothing was cut off")) from None
    except (Unreadable, ValueError, KeyError, TypeError) as error:
        raise BenchError(printable(f"{side}: no side file of a recording: {error}")) from None
    save(recorder.trace(), path)
    side.unlink()
    return recorder


def _replayed(text: str) -> Recorder:
    """Let a new recorder meet what a side file holds; half a line at its end is left out."""
    head, *lines = text.split("\n")[:-1]
    values = json.loads(head)
    if values["format"] != FORMAT:
        raise ValueError(f"format {values['format']}, expected {FORMAT}")
    recorder = Recorder(float(values["rate_Hz"]), values["provenance"])
    last_s = 0.0
    for number, line in enumerate(lines, 2):
        at, _, rest = line.partition("\t")
        kind, _, said = rest.partition("\t")
        last_s = float(at)
        _replay(recorder, kind, said, last_s, number)
    recorder.lost("cut off here: made of the side file", last_s)
    return recorder


def _replay(recorder: Recorder, kind: str, text: str, host_s: float, number: int) -> None:
    if kind == "line":
        recorder.take(text, host_s)
    elif kind == "restarted":
        recorder.restarted(host_s)
    elif kind in ("note", "lost"):
        {"note": recorder.note, "lost": recorder.lost}[kind](text, host_s)
    else:
        raise ValueError(f"line {number} says {kind[:20]!r}")
