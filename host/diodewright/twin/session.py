"""A session with the board: all that went in and came out, by tick, so that it can be replayed.

Bytes reach a port in wall-clock time; which tick they meet is chance. Once that is written down,
the same build, firmware, seed and bytes give the same answers in the same ticks, always.
"""

import hashlib
import re
import tempfile
from collections.abc import Iterable
from pathlib import Path
from typing import Annotated

import msgspec

from diodewright.build import Build
from diodewright.build.plain_file import Unreadable, printable, read_text
from diodewright.sim import compiled
from diodewright.twin.child import firmware_folder
from diodewright.twin.provision import provision
from diodewright.twin.twin import Event, Twin, is_target

__all__ = ["BadRecording", "Recording", "Session", "firmware_hash", "read_recording", "replay"]

_MOST_BYTES = 64_000_000
_HEX = re.compile("(?:[0-9a-f]{2})*")


class BadRecording(ValueError):
    """A recording that can't be replayed: file and reason in one line."""


class Recording(msgspec.Struct, forbid_unknown_fields=True):
    """A session, as its file holds it; ticks are milliseconds since power-on.

    Attributes
    ----------
    build, fingerprint : name and fingerprint of the build.
    firmware : hash of the firmware's files.
    seed, charge_pct : of the simulated board.
    blank : it began without firmware, and runs what its flash is given.
    ticks : how long it ran [ms].
    given, said : bytes to the board and from it: (tick, hexadecimal).
    events : what befell it: (tick, target, value).
    """

    build: str
    fingerprint: str
    firmware: str
    seed: Annotated[int, msgspec.Meta(ge=1, lt=2**31)]
    charge_pct: Annotated[float, msgspec.Meta(ge=0, le=100)]
    ticks: Annotated[int, msgspec.Meta(ge=0)] = 0
    given: list[tuple[int, str]] = []
    said: list[tuple[int, str]] = []
    events: list[tuple[int, str, float]] = []
    blank: bool = False
    format: int = 1


def firmware_hash(folder: Path | None = None) -> str:
    """Return one hash over the firmware's files, names included."""
    digest = hashlib.sha256()
    root = folder or firmware_folder()
    for path in [
        *sorted(root.glob("diodedriver/*.py")),
        *sorted(root.glob("diodedriver/rootfs/*.py")),
    ]:
        digest.update(path.name.encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()[:16]


class Session:
    """A board at power-on, freshly flashed or blank, and the record of all that it meets.

    Parameters
    ----------
    blank : nothing but MicroPython is on it; it runs what its flash is given.
    release : the release that this MicroPython says it is; "" for its own.
    chip : the chip's name.

    Raises
    ------
    Absent
        No MicroPython here.
    EngineError
        The compiled engine can't be made here.
    """

    def __init__(
        self,
        build: Build,
        seed: int,
        charge_pct: float = 100.0,
        blank: bool = False,
        release: str = "",
        chip: str = "RP2040",
    ) -> None:
        made_of = firmware_hash()
        self.record = Recording(build.name, build.fingerprint, made_of, seed, charge_pct)
        self.record.blank = blank
        self._folder = tempfile.TemporaryDirectory(prefix="board-")
        folder = Path(self._folder.name)
        if not blank:
            provision(build, folder / "flash.img")
        soc = charge_pct / 100
        self.twin = Twin(
            build, compiled(), folder, seed, soc, chip=chip, own=blank, release=release
        )

    def __enter__(self) -> "Session":
        return self

    def __exit__(self, *_: object) -> None:
        self.twin.close()
        self._folder.cleanup()

    def step(self, data: bytes = b"", events: Iterable[Event] = ()) -> bytes:
        """Let one tick pass with `data` for the board and `events` (all now); return its answer."""
        now = self.twin.now
        if data:
            self.twin.send(data)
            self.record.given.append((now, data.hex()))
        happened = list(events)
        self.record.events += [(now, event.target, event.value) for event in happened]
        self.twin.run(1, happened)
        said = self.twin.said()
        if said:
            self.record.said.append((now, said.hex()))
        self.record.ticks = self.twin.now
        return said


def read_recording(path: Path, build: Build) -> Recording:
    """Return the recording in `path`, made with this very build.

    Raises
    ------
    BadRecording
        Unreadable, not a recording, or of another build.
    """
    try:
        record = msgspec.json.decode(read_text(path, _MOST_BYTES).encode(), type=Recording)
    except FileNotFoundError as error:
        raise BadRecording(f"{path}: no such file") from error
    except (Unreadable, msgspec.MsgspecError) as error:
        raise BadRecording(f"{path}: no recording of a session: {error}") from error
    if record.format != 1:
        raise BadRecording(f"{path}: format {record.format}; this version reads format 1")
    if record.fingerprint != build.fingerprint:
        raise BadRecording(
            f"{path}: recorded with build {record.build} ({record.fingerprint[:12]}); "
            f"this is {build.name} ({build.fingerprint[:12]})"
        )
    for _, data in (*record.given, *record.said):
        if _HEX.fullmatch(data) is None:
            raise BadRecording(
                f"{path}: {printable(data[:40])} is no byte after byte in hexadecimal"
            )
    for _, target, _ in record.events:
        if not is_target(target):
            raise BadRecording(f"{path}: nothing is called {printable(target[:40])} here")
    return record


def replay(record: Recording, build: Build) -> str:
    """Run a session again as fast as it goes; return its first difference, "" for none."""
    given = {tick: bytes.fromhex(data) for tick, data in record.given}
    events: dict[int, list[Event]] = {}
    for tick, target, value in record.events:
        events.setdefault(tick, []).append(Event(0, target, value))
    with Session(build, record.seed, record.charge_pct, record.blank) as session:
        while session.twin.now < record.ticks:
            now = session.twin.now
            session.step(given.get(now, b""), events.get(now, ()))
        return _first_difference(record.said, session.record.said)


def _first_difference(before: list[tuple[int, str]], now: list[tuple[int, str]]) -> str:
    for was, said in zip(before, now, strict=False):
        if was != said:
            return (
                f"recorded at {was[0]} ms {bytes.fromhex(was[1])!r}, "
                f"now at {said[0]} ms {bytes.fromhex(said[1])!r}"
            )
    if len(before) != len(now):
        return f"recorded {len(before)} answers, now {len(now)}"
    return ""
