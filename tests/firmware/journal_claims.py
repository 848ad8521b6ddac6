"""Claims about the journal, each in an empty folder. Plain enough for MicroPython as well."""

import builtins
import os

from diodedriver import journal, words
from diodedriver.journal import ENTRIES, FILES, SIZE, Journal

STUCK = words.index(words.FAULTS, "stuck")
STATE = words.index(words.FAULTS, "state")
HOT = words.index(words.FAULTS, "hot")
SEEN = [1000 + place for place in range(len(words.READINGS))]
NAMES = [f"journal.{file}" for file in range(FILES)]


def note(log: Journal, kind: str, row: int = -1, tick: int = 0) -> None:
    seen = SEEN if row >= 0 else [0] * len(SEEN)
    log.add(kind, log.boots, 12, "watchdog", row, 6, tick, 1627, 1700, seen)


def fill(log: Journal, count: int, row: int = HOT) -> None:
    for tick in range(count):
        note(log, "fault", row, tick)


def ticks(log: Journal, most: int = 1000) -> list:
    return [entry.tick for entry in log.entries(most)]


def size(name: str) -> int:
    return os.stat(name)[6]


def what_was_added_comes_back_newest_first():
    log = Journal()
    assert list(log.entries(5)) == []
    stray = [-(1 << 31), (1 << 31) - 1, -1] + SEEN[3:]
    log.add("unclean", 7, 0, "power on", -1, 0, 0, 0, 0, [])
    log.add("fault", 7, 123456, "brown out!!!", HOT, 6, 1 << 29, 33315, 33316, SEEN)
    log.add("fault", 7, 9, "", 1 << 20, -5, -6, -7, -8, stray)
    log.add("crash", 8, 1, "unknown", -1, 2, 3, 4, 5, SEEN)
    for again in (log, Journal()):
        crash, odd, hot, unclean = again.entries(9)
        assert (unclean.kind, unclean.boot, unclean.seen, unclean.row) == ("unclean", 7, [], -1)
        assert (hot.kind, hot.uptime_s, hot.reset_cause) == ("fault", 123456, "brown out!!!")
        assert (hot.row, hot.mode, hot.tick) == (HOT, 6, 1 << 29)
        assert (hot.limit, hot.reading, hot.seen) == (33315, 33316, SEEN)
        assert (odd.row, odd.mode, odd.tick, odd.limit, odd.reading) == (1 << 20, -5, -6, -7, -8)
        assert (odd.seen, odd.reset_cause) == (stray, "")
        assert (crash.kind, crash.number) == ("crash", 4)
        assert not (hot.needs_service or hot.foreign)
    assert [entry.kind for entry in log.entries(2)] == ["crash", "fault"]
    assert list(log.entries(0)) == []


def a_field_that_does_not_fit_is_refused_and_nothing_is_written():
    log = Journal()
    note(log, "boot")
    good = ["fault", 1, 1, "watchdog", HOT, 6, 1, 1, 1, SEEN]
    for place, value in (
        (0, "failure"),
        (1, 1 << 31),
        (2, -(1 << 31) - 1),
        (3, "a reset cause"),
        (9, SEEN + [0] * 6),
        (9, [1 << 31]),
    ):
        wrong = list(good)
        wrong[place] = value
        try:
            log.add(*wrong)
        except ValueError:
            continue
        raise AssertionError(f"accepted {value}")
    assert len(list(Journal().entries(9))) == 1
    log.add(*good)
    assert len(list(Journal().entries(9))) == 2


def boots_are_counted_however_many_entries_a_boot_makes():
    for boot in range(1, 60):
        log = Journal()
        assert log.boots == boot
        note(log, "boot")
        fill(log, boot % 7)
        assert log.boots == boot


def the_journal_is_bounded_and_keeps_the_newest():
    log = Journal()
    for count in range(1, 3 * FILES * ENTRIES):
        note(log, "fault", HOT, count)
        if count % 13 == 0:
            got = ticks(Journal())
            assert got == list(range(count, count - len(got), -1))
            assert len(got) >= min(count, (FILES - 1) * ENTRIES)
    assert sorted(name for name in os.listdir() if name.startswith("journal")) == NAMES
    for name in NAMES:
        assert size(name) <= ENTRIES * SIZE


def a_fault_needs_service_where_its_rule_says_so_and_nowhere_else():
    for row, fault in enumerate(words.FAULTS):
        log = Journal()
        note(log, "fault", row)
        latched = row if fault[1] == "service" else -1
        assert log.needs_service() == latched == Journal().needs_service()
        note(log, "service")
        assert log.needs_service() == Journal().needs_service() == -1
    note(log, "crash", STUCK)
    assert Journal().needs_service() == -1


def a_fault_that_needs_service_is_never_pushed_out():
    log = Journal()
    note(log, "fault", STUCK, 4711)
    for count in range(3 * FILES * ENTRIES):
        note(log, "boot", -1, count)
        if count % 17 == 0:
            log = Journal()
        assert log.needs_service() == STUCK
    last = list(Journal().entries(1000))[-1]
    assert (last.tick, last.row, last.seen, last.needs_service) == (4711, STUCK, SEEN, True)
    assert ticks(log)[:-1] == ticks(log, len(ticks(log)) - 1)
    assert size(journal.KEPT) == SIZE


def a_service_entry_clears_for_good():
    log = Journal()
    note(log, "fault", STUCK)
    fill(log, FILES * ENTRIES)
    assert journal.KEPT in os.listdir()
    note(log, "service")
    for _ in range(2 * FILES * ENTRIES):
        note(log, "boot")
        assert log.needs_service() == -1
    assert Journal().needs_service() == -1
    assert journal.KEPT not in os.listdir()
    note(log, "fault", STUCK)
    assert Journal().needs_service() == STUCK


def a_kept_fault_stays_cleared_when_the_service_entry_was_pushed_out():
    log = Journal()
    note(log, "fault", STUCK)
    fill(log, FILES * ENTRIES)
    with builtins.open(journal.KEPT, "rb") as file:
        kept = file.read()
    note(log, "service")
    fill(log, 2 * FILES * ENTRIES)
    with builtins.open(journal.KEPT, "wb") as file:
        file.write(kept)  # as if it had never been removed
    assert Journal().needs_service() == -1
    note(log, "fault", STATE)
    assert Journal().needs_service() == STATE


def the_first_of_each_row_is_kept_and_the_first_of_all_is_told():
    log = Journal()
    note(log, "fault", STUCK, 1)
    note(log, "fault", STATE, 2)
    for turn in range(3):
        fill(log, FILES * ENTRIES, STUCK)
        fill(log, FILES * ENTRIES, STATE)
        log = Journal()
        assert log.needs_service() == STUCK
        assert ticks(log)[-2:] == [2, 1], turn
    assert size(journal.KEPT) == 2 * SIZE


def an_entry_is_whole_or_not_there_and_the_next_one_is_kept():
    for length in range(SIZE):
        junk = (b"", b"\xff" * 10, bytes(SIZE))[length % 3]
        log = Journal()
        start = log._newest
        note(log, "fault", STUCK, 1)
        note(log, "service")
        name, place = f"journal.{log._file}", log._next - 1
        with builtins.open(name, "rb") as file:
            held = file.read()
        with builtins.open(name, "wb") as file:
            file.write(held[: place * SIZE + length] + junk)
        log = Journal()
        assert (log._newest, log.needs_service()) == (start + 1, STUCK), (length, junk)
        note(log, "service")
        log = Journal()
        assert (log._newest, log.needs_service()) == (start + 2, -1), (length, junk)


def one_flipped_bit_takes_an_entry_away_and_no_other():
    log = Journal()
    fill(log, 3)
    with builtins.open(NAMES[0], "rb") as file:
        held = file.read()
    assert ticks(Journal()) == [2, 1, 0]
    for bit in range(8 * SIZE):
        changed = bytearray(held)
        changed[SIZE + bit // 8] ^= 1 << bit % 8
        assert not journal._whole(changed[SIZE : 2 * SIZE]), bit
        if bit % 61 == 0:
            with builtins.open(NAMES[0], "wb") as file:
                file.write(changed)
            assert ticks(Journal()) == [2, 0], bit


def a_service_fault_of_other_tables_stays_latched_as_row_0():
    log = Journal()
    tables = journal.TABLES
    journal.TABLES = tables ^ 1
    try:
        note(log, "fault", STUCK)
    finally:
        journal.TABLES = tables
    log = Journal()
    assert log.needs_service() == 0
    (entry,) = log.entries(2)
    assert (entry.foreign, entry.row, entry.needs_service) == (True, STUCK, True)


class Forgets:
    """A file that is opened for writing and keeps nothing."""

    def __enter__(self):
        return self

    def __exit__(self, *_):
        pass

    def seek(self, place):
        pass

    def write(self, record):
        pass


def an_entry_that_flash_did_not_keep_is_told_and_takes_no_place():
    log = Journal()
    for count in range(1, 2 * FILES * ENTRIES):
        note(log, "fault", HOT, count)
        journal.open = lambda name, mode: Forgets() if mode != "rb" else builtins.open(name, mode)
        try:
            note(log, "fault", STUCK, -count)
        except OSError:
            pass
        else:
            raise AssertionError("not told")
        finally:
            del journal.open
        assert log.needs_service() == -1
    assert ticks(Journal(), 3) == [count, count - 1, count - 2]
    assert Journal().needs_service() == -1
    assert Journal()._newest == count


def a_fault_that_could_not_be_put_aside_is_not_pushed_out():
    log = Journal()
    note(log, "fault", STUCK)
    fill(log, ENTRIES - 1)

    def forgetful(name, mode):
        file = builtins.open(name, mode)
        if name != journal.FRESH or mode != "wb":
            return file
        file.close()
        return Forgets()

    journal.open = forgetful
    try:
        note(log, "boot")
    except OSError:
        pass
    else:
        raise AssertionError("not told")
    finally:
        del journal.open
    assert Journal().needs_service() == STUCK
    note(log, "boot")
    assert Journal().needs_service() == STUCK


CLAIMS = (
    what_was_added_comes_back_newest_first,
    a_field_that_does_not_fit_is_refused_and_nothing_is_written,
    boots_are_counted_however_many_entries_a_boot_makes,
    the_journal_is_bounded_and_keeps_the_newest,
    a_fault_needs_service_where_its_rule_says_so_and_nowhere_else,
    a_fault_that_needs_service_is_never_pushed_out,
    a_service_entry_clears_for_good,
    a_kept_fault_stays_cleared_when_the_service_entry_was_pushed_out,
    the_first_of_each_row_is_kept_and_the_first_of_all_is_told,
    an_entry_is_whole_or_not_there_and_the_next_one_is_kept,
    one_flipped_bit_takes_an_entry_away_and_no_other,
    a_service_fault_of_other_tables_stays_latched_as_row_0,
    an_entry_that_flash_did_not_keep_is_told_and_takes_no_place,
    a_fault_that_could_not_be_put_aside_is_not_pushed_out,
)
