"""The journal: what happened, kept through power-off in a bounded ring of files.

An entry, little-endian, 160 bytes, whole with its checksum or not there:

    ====== ===== ===========================================================================
    offset bytes what
    ====== ===== ===========================================================================
    0      1     format, 1
    1      1     kind: its place in KINDS
    2      1     1 where the entry is a fault that needs service, by the rules of that day
    3      1     how many readings
    4      4     number: one more at each entry, from 1; flash wears out long before it wraps
    8      4     number of the newest "service" entry so far, this one included; 0: none
    12     4     version of the tables of faults, modes and readings: CRC-32 of their names
    16     4     boot
    20     4     uptime [s]
    24     4     row of words.FAULTS, -1 for none
    28     4     mode, by words.MODES; of a fault the one that it ended
    32     4     tick
    36     4     limit, in the unit of what the row was judged on
    40     4     reading, in that unit
    44     12    reset cause, ASCII, filled up with zeros
    56     100   the readings seen, in the order of words.READINGS, filled up with zeros
    156    4     CRC-32 (that of IEEE 802.3) of everything before
    ====== ===== ===========================================================================

Words from 16 to 43 and the readings are signed, so that a stray state word fits as well.

FILES files of ENTRIES entries each are filled one behind the other; where all are full, the oldest
file is begun anew. At least the newest ``(FILES - 1) * ENTRIES`` entries are there. Which flash
block a file lies in is the file system's choice, anew at each write: that spreads the wear.

A fault that needs service is latched until a "service" entry comes. Before the next file is begun,
the first latched fault of each row is put into a file of its own, whole or not at all (written
beside, read back, then renamed). Every entry carries the number of the newest "service" entry, so
that a kept fault stays cleared when that entry itself was pushed out.
"""

import errno
import os
import struct
from binascii import crc32

from diodedriver import words

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator

FORMAT = 1
# "unclean" is a boot behind an end that was not clean, "crash" an exception that nothing caught;
# "flashed" is written by who flashes: "holds", or how many findings it was done despite, stands in
# place of the reset cause, the passport's first two times seven digits in limit and reading
KINDS = ("boot", "unclean", "fault", "service", "crash", "flashed")
FILES = 4
ENTRIES = 25
KEPT = "journal.kept"
FRESH = "journal.new"

_LAYOUT = "<BBBBIII7i12s25i"
_BODY = struct.calcsize(_LAYOUT)
SIZE = _BODY + 4
_READINGS = 25
_CAUSE = 12
_FAULT = KINDS.index("fault")


def _tables_version() -> int:
    """Return the version of what an entry speaks of: a CRC-32 of rows, modes and readings."""
    rows = [" ".join(row[:4]) for row in words.FAULTS]
    rows += [row[0] for row in words.MODES]
    rows += [" ".join(row[:2]) for row in words.READINGS]
    return int(crc32("\n".join(rows).encode()))


TABLES = _tables_version()


class Entry:
    """One entry; its names are those of `Journal.add`.

    `foreign` says that it was written under other tables: then row, mode and readings may mean
    something else than they do here.
    """

    def __init__(self, record: "bytes | bytearray") -> None:
        fields = struct.unpack_from(_LAYOUT, record, 0)
        self.kind = KINDS[fields[1]]
        self.needs_service = bool(fields[2])
        self.number = fields[4]
        self.served = fields[5]
        self.foreign = fields[6] != TABLES
        self.boot, self.uptime_s, self.row, self.mode, self.tick = fields[7:12]
        self.limit, self.reading = fields[12:14]
        self.reset_cause = fields[14].rstrip(b"\0").decode()
        self.seen = list(fields[15 : 15 + fields[3]])

    def told(self) -> "tuple[object, ...]":
        """Return what serial tells of it; the row of another table is none of this one: -1."""
        row = -1 if self.foreign else self.row
        return (
            self.kind,
            self.boot,
            self.uptime_s,
            self.reset_cause,
            row,
            self.mode,
            self.tick,
            self.limit,
            self.reading,
            self.seen,
        )


class Journal:
    """The journal as it is in flash; opening it reads all of it and writes nothing.

    `boots` is this boot's number: one more than the highest in any entry.
    """

    def __init__(self) -> None:
        self.boots = 1
        self._newest = 0
        self._served = 0
        self._file = FILES - 1
        self._next = ENTRIES
        self._buffer = bytearray(SIZE)
        # (number, row, record) of the first latched fault of each row
        self._latched: list[tuple[int, int, bytes]] = []
        self._scan()

    def add(
        self,
        kind: str,
        boot: int,
        uptime_s: int,
        reset_cause: str,
        row: int,
        mode: int,
        tick: int,
        limit: int,
        reading: int,
        seen: "list[int]",
    ) -> None:
        """Write one entry, behind all others.

        Raises
        ------
        ValueError
            A kind that there is none of, or a field that does not fit.
        OSError
            The file system refused, or flash did not keep the entry; it is not there then.
        """
        if kind not in KINDS:
            raise ValueError(f"kind {kind!r}, allowed {KINDS}")
        cause = reset_cause.encode()
        if len(cause) > _CAUSE or len(seen) > _READINGS:
            raise ValueError(f"reset cause {reset_cause!r} or {len(seen)} readings: too long")
        numbers = [boot, uptime_s, row, mode, tick, limit, reading]
        for value in numbers + list(seen):
            if not -(1 << 31) <= value < 1 << 31:
                raise ValueError(f"{value} is no 32-bit integer")
        number = self._newest + 1
        service = kind == "fault" and 0 <= row < words.ROWS and words.FAULTS[row][1] == "service"
        served = number if kind == "service" else self._served
        fields = [FORMAT, KINDS.index(kind), 1 if service else 0, len(seen), number, served]
        body = struct.pack(
            _LAYOUT,
            *fields,
            TABLES,
            *numbers,
            cause,
            *seen,
            *[0] * (_READINGS - len(seen)),
        )
        record = body + struct.pack("<I", crc32(body))
        self._put(record)
        self._learn(record)

    def entries(self, most: int) -> "Iterator[Entry]":
        """Yield the newest entries, newest first, at most `most`; kept faults come last."""
        last = self._newest + 1
        for back in range(FILES):
            file = (self._file - back) % FILES
            for place in range((self._next if back == 0 else ENTRIES) - 1, -1, -1):
                if most <= 0:
                    return
                entry = self._read(_name(file), place)
                if entry is not None and entry.number < last:
                    last = entry.number
                    most -= 1
                    yield entry
        for number, _, record in reversed(self._latched):
            if most > 0 and number < last:
                most -= 1
                yield Entry(record)

    def needs_service(self) -> int:
        """Return the row of the first latched fault that needs service, -1 for none.

        A fault that was written under other tables is row 0 here: which one it was, its entry says.
        """
        if not self._latched:
            return -1
        entry = Entry(self._latched[0][2])
        return 0 if entry.foreign else entry.row

    # reading

    def _scan(self) -> None:
        """Learn from every whole entry; find the newest one's place."""
        newest = 0
        for file in range(FILES):
            for place, record in enumerate(self._records(_name(file))):
                if record is not None:
                    self.boots = max(self.boots, self._learn(record) + 1)
                    if self._newest > newest:
                        newest = self._newest
                        self._file = file
                        self._next = place + 1
        for record in self._records(KEPT):
            if record is not None:
                self.boots = max(self.boots, self._learn(record) + 1)

    def _records(self, name: str) -> "Iterator[bytearray | None]":
        """Yield each record of a file in one buffer, None for one that is not whole."""
        try:
            with open(name, "rb") as file:
                while file.readinto(self._buffer) == SIZE:
                    yield self._buffer if _whole(self._buffer) else None
        except OSError:
            return

    def _read(self, name: str, place: int) -> "Entry | None":
        try:
            with open(name, "rb") as file:
                file.seek(place * SIZE)
                if file.readinto(self._buffer) != SIZE or not _whole(self._buffer):
                    return None
        except OSError:
            return None
        return Entry(self._buffer)

    def _learn(self, record: "bytes | bytearray") -> int:
        """Take note of one whole entry, in whatever order they come; return its boot."""
        _, kind, service, _, number, served, _, boot, _, row = struct.unpack_from(
            "<BBBBIIIiii", record, 0
        )
        self._newest = max(self._newest, number)
        if served > self._served:
            self._served = served
            self._latched = [held for held in self._latched if held[0] > served]
        if kind == _FAULT and service and number > self._served:
            self._latch(number, row, bytes(record))
        return int(boot)

    def _latch(self, number: int, row: int, record: bytes) -> None:
        """Keep the first latched fault of a row."""
        for held in self._latched:
            if held[1] == row and held[0] <= number:
                return
        self._latched = [held for held in self._latched if held[1] != row]
        self._latched.append((number, row, record))
        self._latched.sort(key=lambda held: held[0])

    # writing

    def _put(self, record: bytes) -> None:
        """Write a record behind the newest one; where its file is full, begin the next anew."""
        file, place = self._file, self._next
        if place >= ENTRIES:
            self._keep()
            file, place = (file + 1) % FILES, 0
        name = _name(file)
        with open(name, "r+b" if place else "wb") as out:
            out.seek(place * SIZE)
            out.write(record)
        with open(name, "rb") as check:
            check.seek(place * SIZE)
            if check.read(SIZE) != record:
                raise OSError(errno.EIO)
        self._file, self._next = file, place + 1

    def _keep(self) -> None:
        """Make the file of kept faults hold what is latched, where it does not yet."""
        wanted = b"".join([held[2] for held in self._latched])
        if _held(KEPT) == wanted:
            return
        if not wanted:
            os.remove(KEPT)
            return
        with open(FRESH, "wb") as out:
            out.write(wanted)
        if _held(FRESH) != wanted:
            raise OSError(errno.EIO)
        os.rename(FRESH, KEPT)


def _name(file: int) -> str:
    return f"journal.{file}"


def _held(name: str) -> bytes:
    try:
        with open(name, "rb") as file:
            return bytes(file.read())
    except OSError:
        return b""


def _whole(record: "bytes | bytearray") -> bool:
    if record[0] != FORMAT or record[1] >= len(KINDS) or record[3] > _READINGS:
        return False
    checksum = struct.unpack_from("<I", record, _BODY)[0]
    return bool(checksum == crc32(memoryview(record)[:_BODY]))
