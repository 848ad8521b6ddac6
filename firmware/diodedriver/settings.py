"""Settings in flash: two slots, each a whole record with a checksum; and the armed marker.

A record, little-endian. All formats share its first 12 bytes and its last 4:

    ====== ======== ========================================================================
    offset bytes    what
    ====== ======== ========================================================================
    0      4        the letters DWse
    4      2        format, 1
    6      2        length of the whole record [bytes]
    8      4        sequence: one more at each store, and 0 follows 2**32 - 1
    12     2        how many values
    14     4        version of the word table: CRC-32 of its names, units and ranges
    18     1, 1, 2  lengths of unit, fingerprint and as-built text [bytes]
    22     ...      the three texts, printable ASCII
    ...    4 each   the values, in the order of words.SETTINGS
    end-4  4        CRC-32 (that of IEEE 802.3) of everything before
    ====== ======== ========================================================================

A slot that is not whole (a wrong length or checksum: a write cut short, or flipped bits) counts as
none. A whole slot that can't be used (another unit, another word table, a value out of range) was
put there by somebody, so it bars light whatever the other slot says. Of two usable ones that differ
the newer counts, by serial-number arithmetic (RFC 1982); where neither is newer, none does.

`store` writes the slot that is worth less, reads it back, and only then makes the other one its
copy. So a cut at any byte leaves one whole record, old or new, and later rot in one slot meets the
same settings in the other: never older ones. A cut between the two leaves an old slot beside the
new one; `load` makes the copy then.

The armed marker is an empty file. Making and removing one is one step in the board's file system.
"""

import errno
import os
import struct
from binascii import crc32

from diodedriver import words

FORMAT = 1
SLOTS = ("settings.0", "settings.1")
ARMED = "armed"
MARK = b"DWse"
LARGEST = 2048
LONGEST_NAME = 64
LONGEST_AS_BUILT = 400

_HEAD = "<4sHHIHIBBH"
_HEAD_SIZE = struct.calcsize(_HEAD)
_SEQUENCE_AT = 8
_CYCLE = 0xFFFFFFFF


def _table_version() -> int:
    """Return the version of the word table: a CRC-32 of names, units and ranges, in their order."""
    version = 0
    for name, unit, low, high, _ in words.SETTINGS:
        version = crc32(f"{name} {unit} {low} {high}\n".encode(), version)
    return version


TABLE = _table_version()


class Refused(Exception):
    """Settings that can't be used; its text is one line for a person."""


class Record:
    """What a record says: values by name, where they came from, and what they were made for."""

    def __init__(self) -> None:
        self.values: dict[str, int] = {}
        self.fingerprint = ""
        self.sequence = 0
        self.as_built = ""
        self.unit = ""


def pack(
    values: "dict[str, int]", unit: str, fingerprint: str, as_built: str, sequence: int
) -> bytes:
    """Return settings as a record.

    Parameters
    ----------
    values : by name, each word of words.SETTINGS.
    unit : the chip's own number; no other unit takes the record.
    fingerprint : of the build that the values came from.
    as_built : calibration and what was built, in short.
    sequence : 0 to 2**32 - 1; `store` gives its own.

    Raises
    ------
    Refused
        A value is missing, unknown or out of range, two contradict each other, or a text is too
        long or not printable ASCII.
    """
    _check(values)
    if not 0 <= sequence <= _CYCLE:
        raise Refused(f"sequence = {sequence}, allowed 0..{_CYCLE}")
    texts = (
        _text("unit", unit, LONGEST_NAME),
        _text("fingerprint", fingerprint, LONGEST_NAME),
        _text("as_built", as_built, LONGEST_AS_BUILT),
    )
    sizes = [len(text) for text in texts]
    count = len(words.SETTINGS)
    length = _HEAD_SIZE + sum(sizes) + 4 * count + 4
    head = struct.pack(_HEAD, MARK, FORMAT, length, sequence, count, TABLE, *sizes)
    body = struct.pack(f"<{count}I", *[values[row[0]] for row in words.SETTINGS])
    return _sealed(head + b"".join(texts) + body)


def unpack(blob: bytes, unit: str) -> Record:
    """Return what a record says.

    Raises
    ------
    Refused
        Not whole, of another format or word table, for a unit other than `unit`, or with values
        that the word table does not allow.
    """
    if not _whole(blob):
        raise Refused("not whole: damaged, or no record of settings")
    _, form, length, sequence, count, version, *sizes = struct.unpack_from(_HEAD, blob, 0)
    if form != FORMAT:
        raise Refused(f"of format {form}, this firmware reads {FORMAT}")
    if version != TABLE or count != len(words.SETTINGS):
        raise Refused("made for another table of words: flash again with matching versions")
    if _HEAD_SIZE + sum(sizes) + 4 * count + 4 != length:
        raise Refused("its lengths contradict each other")
    record = Record()
    record.sequence = sequence
    place = _HEAD_SIZE
    texts = []
    for size in sizes:
        texts.append(bytes(blob[place : place + size]).decode())
        place += size
    record.unit, record.fingerprint, record.as_built = texts
    if record.unit != unit:
        raise Refused(f"made for unit {record.unit}, this is {unit}")
    for row, value in zip(words.SETTINGS, struct.unpack_from(f"<{count}I", blob, place)):
        record.values[row[0]] = value
    _check(record.values)
    return record


def load(unit: str) -> Record:
    """Return the newest settings in flash, and mend a slot that is not their copy.

    That may write flash: call it while dark and before the ticks begin.

    Raises
    ------
    Refused
        There are none, a slot holds a whole record that can't be used, or two differ and neither
        is newer.
    """
    blobs = [_read(name) for name in SLOTS]
    whole = [place for place in (0, 1) if _whole(blobs[place])]
    if not whole:
        raise Refused("no whole settings here: flash this board for a build")
    record = _accepted(whole[0], blobs, unit)
    best = whole[0]
    if len(whole) == 2 and blobs[0] != blobs[1]:
        other = _accepted(1, blobs, unit)
        best = _newer(blobs[0], blobs[1])
        if best < 0:
            raise Refused("settings.0 and settings.1 differ and neither is newer: flash again")
        record = other if best else record
    if blobs[1 - best] != blobs[best]:
        try:
            _write(SLOTS[1 - best], blobs[best])
        except (OSError, Refused):
            pass  # the whole one stands, and the next boot tries again
    return record


def store(blob: bytes, unit: str) -> None:
    """Put a record into both slots under the next sequence number, one behind the other.

    Raises
    ------
    Refused
        The record can't be used, or flash did not keep it; the old settings stand.
    OSError
        The file system refused. The old settings stand, or the new ones do; never a mixture.
    """
    unpack(blob, unit)
    blobs = [_read(name) for name in SLOTS]
    first = _worth_less(blobs, unit)
    sequences = [_sequence(held) for held in blobs if _whole(held)]
    if len(sequences) == 2 and _follows(sequences[1], sequences[0]):
        sequences.reverse()
    following = (sequences[0] + 1) & _CYCLE if sequences else 0
    fresh = bytearray(blob)
    struct.pack_into("<I", fresh, _SEQUENCE_AT, following)
    new = _sealed(bytes(fresh[:-4]))
    _write(SLOTS[first], new)
    _write(SLOTS[1 - first], new)


def was_armed() -> bool:
    """Return whether the armed marker is there; True as well where flash can't tell."""
    try:
        os.stat(ARMED)
    except OSError as error:
        return error.errno != errno.ENOENT
    return True


def arm() -> None:
    """Set the armed marker; OSError where flash did not keep it."""
    with open(ARMED, "wb"):
        pass
    os.stat(ARMED)


def disarm() -> None:
    """Take the armed marker away; no error where there is none."""
    try:
        os.remove(ARMED)
    except OSError as error:
        if error.errno != errno.ENOENT:
            raise


def _check(values: "dict[str, int]") -> None:
    try:
        words.assemble(values)
    except ValueError as error:
        raise Refused(str(error)) from None


def _text(name: str, text: str, most: int) -> bytes:
    if len(text) > most:
        raise Refused(f"{name} has {len(text)} characters, allowed {most}")
    for character in text:
        if not " " <= character <= "~":
            raise Refused(f"{name} holds {character!r}: printable ASCII only")
    return text.encode()


def _sealed(body: bytes) -> bytes:
    return body + struct.pack("<I", crc32(body))


def _whole(blob: bytes) -> bool:
    if len(blob) < _HEAD_SIZE + 4 or blob[:4] != MARK:
        return False
    length = struct.unpack_from("<H", blob, 6)[0]
    checksum = struct.unpack_from("<I", blob, len(blob) - 4)[0]
    return bool(length == len(blob) and checksum == crc32(memoryview(blob)[:-4]))


def _sequence(blob: bytes) -> int:
    return int(struct.unpack_from("<I", blob, _SEQUENCE_AT)[0])


def _follows(later: int, earlier: int) -> bool:
    """Return whether sequence `later` comes behind `earlier`, around the end of numbers too."""
    return 0 < ((later - earlier) & _CYCLE) <= _CYCLE >> 1


def _newer(zero: bytes, one: bytes) -> int:
    """Return which of two whole records counts, 0 or 1; -1 where they differ and neither does."""
    if zero == one or _follows(_sequence(zero), _sequence(one)):
        return 0
    return 1 if _follows(_sequence(one), _sequence(zero)) else -1


def _worth_less(blobs: "list[bytes]", unit: str) -> int:
    """Return the slot to write first: one that is not whole or not usable, or else the older."""
    for place in (0, 1):
        try:
            unpack(blobs[place], unit)
        except Refused:
            return place
    if blobs[0] == blobs[1]:
        return _sequence(blobs[0]) & 1
    return 1 if _newer(blobs[0], blobs[1]) == 0 else 0


def _accepted(place: int, blobs: "list[bytes]", unit: str) -> Record:
    try:
        return unpack(blobs[place], unit)
    except Refused as error:
        raise Refused(f"{SLOTS[place]}: {error}") from None


def _read(name: str) -> bytes:
    """Return a slot's bytes, at most one beyond the longest record; none where it can't be read."""
    try:
        with open(name, "rb") as file:
            return bytes(file.read(LARGEST + 1))
    except OSError:
        return b""


def _write(name: str, blob: bytes) -> None:
    with open(name, "wb") as file:
        file.write(blob)
    if _read(name) != blob:
        raise Refused(f"{name}: flash did not keep what was written")
