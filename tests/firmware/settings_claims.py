"""Claims about settings, each in an empty folder. Plain enough for MicroPython as well."""

import builtins
import os
import struct
from binascii import crc32

import desk
from diodedriver import settings, words

UNIT = "0011223344556677"
OLD = dict(desk.SETTINGS)
NEW = dict(desk.SETTINGS)
NEW.update({"level_1_mA": 700, "junction_trip_cK": 39300, "count_hot": 19, "ntc_7_cK": 38811})
STALE = dict(desk.SETTINGS)
STALE["level_1_mA"] = 710
AS_BUILT = "shunt 25.1 mohm, zero 3 codes; copper sink, 2 cells, cut-off A tested"


def record(values=OLD, sequence=1, unit=UNIT) -> bytes:
    return settings.pack(values, unit, "5eed5eed5eed5eed", AS_BUILT, sequence)


def read(name: str) -> bytes:
    with open(name, "rb") as file:
        return file.read()


def write(name: str, blob: bytes) -> None:
    with open(name, "wb") as file:
        file.write(blob)


def lay(zero, one) -> None:
    """Put what is given into the slots; None is no file."""
    for name, blob in (("settings.0", zero), ("settings.1", one)):
        if blob is not None:
            write(name, blob)
        elif name in os.listdir():
            os.remove(name)


def refused(call, *arguments) -> str:
    try:
        call(*arguments)
    except settings.Refused as error:
        return str(error)
    raise AssertionError("not refused")


def reseal(blob: bytes, form: str, offset: int, value: int) -> bytes:
    """Change one field of a record and give it the checksum that fits."""
    changed = bytearray(blob)
    struct.pack_into(form, changed, offset, value)
    struct.pack_into("<I", changed, len(changed) - 4, crc32(bytes(changed[:-4])))
    return bytes(changed)


class Files:
    """Stands in for `open`: notes what is written; `broken` keeps half of it, as worn flash may."""

    def __init__(self, broken=None) -> None:
        self.broken = broken
        self.written: list[str] = []

    def __enter__(self):
        settings.open = self.open
        return self

    def __exit__(self, *_):
        del settings.open

    def open(self, name, mode):
        file = builtins.open(name, mode)
        if mode == "wb":
            self.written.append(name)
        return Writer(file) if mode == "wb" and name == self.broken else file


class Writer:
    def __init__(self, file) -> None:
        self.file = file

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.file.close()

    def write(self, blob):
        self.file.write(blob[: len(blob) // 2])


def what_is_packed_is_unpacked():
    got = settings.unpack(record(NEW, 77), UNIT)
    assert got.values == NEW
    assert (got.unit, got.fingerprint) == (UNIT, "5eed5eed5eed5eed")
    assert (got.as_built, got.sequence) == (AS_BUILT, 77)
    longest = settings.pack(OLD, "u" * 64, "f" * 64, "~" * 400, 0xFFFFFFFF)
    assert len(longest) < settings.LARGEST
    got = settings.unpack(longest, "u" * 64)
    assert (got.fingerprint, got.as_built, got.sequence) == ("f" * 64, "~" * 400, 0xFFFFFFFF)


def nothing_is_packed_that_the_word_table_does_not_allow():
    wrong = dict(OLD)
    wrong["trip_cK"] = 99999
    assert "trip_cK = 99999, allowed 27300..60000 cK" in refused(record, wrong)
    wrong["trip_cK"] = OLD["hot_cK"]
    assert "hot_cK" in refused(record, wrong)
    del wrong["trip_cK"]
    assert "trip_cK" in refused(record, wrong)
    assert "sequence" in refused(record, OLD, 1 << 32)
    assert "allowed 400" in refused(settings.pack, OLD, UNIT, "f", "x" * 401, 1)
    assert "printable" in refused(settings.pack, OLD, UNIT, "f", "two\nlines", 1)


def a_whole_record_is_refused_for_each_thing_that_is_wrong_with_it():
    good = record()
    settings.unpack(good, UNIT)
    first = 22 + len(UNIT) + 16 + len(AS_BUILT)
    trip = first + 4 * words.index(words.SETTINGS, "trip_cK")
    for said, blob in (
        ("format 2", reseal(good, "<H", 4, 2)),
        ("another table", reseal(good, "<I", 14, settings.TABLE ^ 1)),
        ("another table", reseal(good, "<H", 12, len(words.SETTINGS) - 1)),
        ("lengths", reseal(good, "<B", 18, len(UNIT) + 1)),
        ("trip_cK = 27299, allowed", reseal(good, "<I", trip, 27299)),
        ("trip_cK = 60001, allowed", reseal(good, "<I", trip, 60001)),
        ("hot_cK = 32915 above trip_cK = 32915", reseal(good, "<I", trip, 32915)),
        ("not whole", reseal(good, "<B", 0, 0)),
        ("not whole", good + b"\0"),
        ("not whole", settings._sealed(good[:-4] + bytes(4))),
        ("not whole", good[:-1]),
        ("not whole", b""),
        ("not whole", bytes(len(good))),
        ("not whole", b"\xff" * len(good)),
    ):
        assert said in refused(settings.unpack, blob, UNIT), said
    assert "made for unit 0011223344556677" in refused(settings.unpack, good, "0011223344556678")


def every_row_of_the_table_and_its_order_make_its_version():
    rows = words.SETTINGS
    name, unit, low, high, said = rows[3]
    for changed in (
        rows[:3] + ((name, unit, low, high + 1, said),) + rows[4:],
        rows[:3] + ((name, unit, low + 1, high, said),) + rows[4:],
        rows[:3] + (("other", unit, low, high, said),) + rows[4:],
        rows[:3] + ((name, "uV", low, high, said),) + rows[4:],
        (rows[1], rows[0]) + rows[2:],
        rows[:-1],
    ):
        words.SETTINGS = changed
        try:
            assert settings._table_version() != settings.TABLE
        finally:
            words.SETTINGS = rows
    assert settings._table_version() == settings.TABLE


def without_settings_or_with_damaged_ones_there_is_no_light():
    assert "no whole settings" in refused(settings.load, UNIT)
    for junk in (b"", b"x", bytes(700), b"\xff" * 700, record()[:-1], record() + b"\xff"):
        lay(junk, junk)
        assert "no whole settings" in refused(settings.load, UNIT)


def each_store_takes_the_next_sequence_and_begins_with_the_other_slot():
    firsts = []
    for turn in range(5):
        values = NEW if turn % 2 else OLD
        with Files() as files:
            settings.store(record(values, 900), UNIT)
        firsts.append(files.written[0])
        assert sorted(files.written) == ["settings.0", "settings.1"]
        got = settings.load(UNIT)
        assert (got.sequence, got.values, got.as_built) == (turn, values, AS_BUILT)
        assert read("settings.0") == read("settings.1")
    assert firsts[1:] == ["settings.0", "settings.1"] * 2


def a_slot_half_written_over_an_old_one_is_no_slot():
    old, new = record(OLD, 4), record(NEW, 5)
    longer = settings.pack(OLD, UNIT, "f", "x" * 400, 3)
    assert len(old) == len(new) < len(longer)
    refusals = 0
    for cut in range(len(new) + 1):
        for tail in (b"", old[cut:], longer[cut:], b"\xff" * (len(new) - cut)):
            torn = new[:cut] + tail
            if torn not in (old, new, longer):
                assert "not whole" in refused(settings.unpack, torn, UNIT), cut
                refusals += 1
        if cut % 16 == 0:
            for slots in ((new[:cut] + old[cut:], old), (old, new[:cut] + old[cut:])):
                lay(*slots)
                assert settings.load(UNIT).values == OLD, cut
    assert refusals > 4 * len(new) - 50, refusals


def the_newer_slot_counts_around_the_end_of_the_numbers_too():
    top = 0xFFFFFFFF
    for newer, older in ((1, 0), (0, top), (5, top - 5), (0x7FFFFFFF, 0), (0, 0x80000001)):
        for order in (0, 1):
            slots = [record(NEW, newer), record(OLD, older)]
            lay(slots[order], slots[1 - order])
            got = settings.load(UNIT)
            assert (got.sequence, got.values) == (newer, NEW)
    lay(record(OLD, top), record(OLD, top))
    settings.store(record(NEW), UNIT)
    assert (settings.load(UNIT).sequence, settings.load(UNIT).values) == (0, NEW)


def two_slots_that_differ_with_neither_newer_bar_light_until_a_store():
    for zero, one in ((7, 7), (0, 0x80000000), (0x80000005, 5)):
        lay(record(NEW, zero), record(OLD, one))
        before = read("settings.0"), read("settings.1")
        assert "neither is newer" in refused(settings.load, UNIT)
        assert (read("settings.0"), read("settings.1")) == before
    lay(record(NEW, 7), record(OLD, 7))
    settings.store(record(NEW), UNIT)
    assert settings.load(UNIT).values == NEW


def a_whole_slot_of_another_unit_or_table_bars_light_whatever_the_other_says():
    ours = record(OLD, 4)
    foreign = record(NEW, 9, "ffffffffffffffff")
    for wrong in (foreign, record(NEW, 2, "ffffffffffffffff"), reseal(ours, "<I", 14, 1)):
        for order in (0, 1):
            slots = [ours, wrong]
            lay(slots[order], slots[1 - order])
            assert f"settings.{1 - order}: made for" in refused(settings.load, UNIT)
    settings.store(record(NEW), UNIT)
    assert settings.load(UNIT).values == NEW


def load_makes_the_other_slot_a_copy():
    new = record(NEW, 5)
    for other in (None, b"", new[:300], record(OLD, 4), bytes(len(new))):
        lay(new, other)
        assert settings.load(UNIT).values == NEW
        assert read("settings.1") == new
        # what was newer and rots later meets its copy, never older settings
        write("settings.0", new[:100] + bytes([new[100] ^ 4]) + new[101:])
        assert settings.load(UNIT).values == NEW


def load_needs_no_copy_to_be_made():
    lay(record(NEW, 5), record(OLD, 4))
    with Files(broken="settings.1") as files:
        assert settings.load(UNIT).values == NEW
        assert files.written == ["settings.1"]


def a_failed_store_leaves_the_good_slot_and_so_does_the_next_one():
    good = record(OLD, 4)
    for bad in (0, 1):
        slots = [good, good]
        slots[bad] = good[:200]
        lay(slots[0], slots[1])
        for _ in range(3):
            with Files(broken=f"settings.{bad}") as files:
                assert "did not keep" in refused(settings.store, record(NEW), UNIT)
                assert files.written == [f"settings.{bad}"]
            assert read(f"settings.{1 - bad}") == good
        assert settings.load(UNIT).values == OLD
        settings.store(record(NEW), UNIT)
        assert settings.load(UNIT).values == NEW


def settings_that_can_not_be_used_are_never_stored():
    settings.store(record(OLD), UNIT)
    before = read("settings.0"), read("settings.1")
    for blob in (
        b"",
        record()[:-1],
        record(NEW, 1, "ffffffffffffffff"),
        reseal(record(), "<H", 4, 9),
    ):
        refused(settings.store, blob, UNIT)
    assert (read("settings.0"), read("settings.1")) == before


class Deaf:
    """Stands in for `os` on a file system that can't be read."""

    def stat(self, name):
        raise OSError(5)


def a_marker_that_can_not_be_read_counts_as_armed():
    settings.os = Deaf()
    try:
        assert settings.was_armed()
    finally:
        settings.os = os
    assert not settings.was_armed()


def the_armed_marker_is_there_from_arm_to_disarm():
    assert not settings.was_armed()
    for _ in range(2):
        settings.disarm()
        assert not settings.was_armed()
        settings.arm()
        settings.arm()
        assert settings.was_armed()
    settings.disarm()
    assert not settings.was_armed()


CLAIMS = (
    what_is_packed_is_unpacked,
    nothing_is_packed_that_the_word_table_does_not_allow,
    a_whole_record_is_refused_for_each_thing_that_is_wrong_with_it,
    every_row_of_the_table_and_its_order_make_its_version,
    without_settings_or_with_damaged_ones_there_is_no_light,
    each_store_takes_the_next_sequence_and_begins_with_the_other_slot,
    a_slot_half_written_over_an_old_one_is_no_slot,
    the_newer_slot_counts_around_the_end_of_the_numbers_too,
    two_slots_that_differ_with_neither_newer_bar_light_until_a_store,
    a_whole_slot_of_another_unit_or_table_bars_light_whatever_the_other_says,
    load_makes_the_other_slot_a_copy,
    load_needs_no_copy_to_be_made,
    a_failed_store_leaves_the_good_slot_and_so_does_the_next_one,
    settings_that_can_not_be_used_are_never_stored,
    a_marker_that_can_not_be_read_counts_as_armed,
    the_armed_marker_is_there_from_arm_to_disarm,
)
