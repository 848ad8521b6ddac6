"""Power cut at every byte of every write, in real MicroPython on the board's own file system.

A write is run once, healthy, and every program and erase that reaches the flash is noted. Then the
flash is made again as a cut leaves it, for each byte of each program and several ways in which a
cut erase leaves its block; each time it is mounted, and what the firmware finds is checked. The
firmware does the same up to the cut, so this is the same as running the write anew for each.

What a flash is here: a program clears bits in erased bytes, in order of address; cut, it has done
some whole bytes and perhaps a part of the next one's bits. An erase sets all bits of a block; cut,
it has set any of them. Bits that read right now and wrong later are not modelled.

Run as ``micropython flash_cut.py SCENARIO SEED STRIDE``; every STRIDE-th byte is a cut. It prints
how many cuts it made.
"""

import builtins
import gc
import os
import random
import sys

import journal_claims
import settings_claims
from diodedriver import journal, settings
from flash import BLOCK, Flash, fresh, leave, mount
from journal_claims import ENTRIES, FILES, HOT, STATE, STUCK, note
from settings_claims import NEW, OLD, STALE, UNIT, record

ERASE_CUTS = 24


def cuts(before, log, stride):
    """Yield what the flash holds after each cut, in one buffer, and the name of the cut."""
    held = bytearray(before)
    for number, (start, data) in enumerate(log):
        if data:
            for done in range(len(data)):
                if data[done] == 0xFF:
                    continue  # this byte stays erased: whatever is cut here was cut before
                if done % stride == 0:
                    yield held, f"operation {number}, program, {done} bytes"
                    held[start + done] = data[done] | random.getrandbits(8)
                    if held[start + done] not in (data[done], 0xFF):
                        yield held, f"operation {number}, program, {done} bytes and some bits"
                held[start + done] = data[done]
        else:
            was = bytes(held[start : start + BLOCK])
            for way in range(ERASE_CUTS):
                held[start : start + BLOCK] = _half_erased(was, way)
                yield held, f"operation {number}, erase, way {way}"
            held[start : start + BLOCK] = b"\xff" * BLOCK
    yield held, "after all"


def _half_erased(was, way):
    """Return a block whose erase was cut: some bits set that were not, in one of several shapes."""
    if way % 3 == 0:
        done = random.randrange(BLOCK)
        return b"\xff" * done + was[done:]
    if way % 3 == 1:
        done = random.randrange(BLOCK)
        return was[:done] + b"\xff" * (BLOCK - done)
    thin = random.getrandbits(8)
    return bytes([byte | (random.getrandbits(8) & thin) for byte in was])


def cut(prepare, write, check, stride, again=None) -> int:
    """Cut `write` everywhere after `prepare`; `check` what is found. Return how many cuts.

    `check` is told whether all of the write was done. `again`, where given, is run on every 16th
    flash once more: it must go well behind a cut as it does without one.
    """
    flash = fresh()
    mount(flash)
    prepare()
    leave(flash)
    before = bytes(flash.held)
    flash = Flash(held=flash.held)
    mount(flash)
    flash.log = []
    write()
    leave(flash)
    made = 0
    now = bytearray(before)
    for held, name in cuts(before, flash.log, stride):
        now[:] = held
        found = Flash(held=now)
        try:
            mount(found)
            check(name == "after all")
            if again and made % 16 == 0:
                again()
        except Exception:
            print("cut at", name)
            raise
        leave(found)
        made += 1
    return made


# what the settings must be behind a cut


def old_or_new(done: bool) -> None:
    got = settings.load(UNIT)
    assert got.values == NEW or (got.values == OLD and not done)
    assert settings.load(UNIT).sequence == got.sequence
    assert settings._read("settings.0") == settings._read("settings.1")


def only(values):
    """Return a check that nothing but `values` is found."""

    def check(_done: bool) -> None:
        assert settings.load(UNIT).values == values
        assert settings._read("settings.0") == settings._read("settings.1")

    return check


def dark_or_new(done: bool) -> None:
    try:
        assert settings.load(UNIT).values == NEW
    except settings.Refused:
        assert not done


def store_new() -> None:
    settings.store(record(NEW), UNIT)


def store_and_see() -> None:
    store_new()
    only(NEW)(True)


def lay(zero, one, arms=0):
    """Return a preparation: two slots, and so many armings, to bring the directory near full."""

    def prepare() -> None:
        settings_claims.lay(zero, one)
        for _ in range(arms):
            settings.arm()
            settings.disarm()

    return prepare


def load() -> None:
    settings.load(UNIT)


def store(stride: int) -> int:
    """Store over one record in both slots; and where the directory's block runs full meanwhile."""
    made = 0
    for arms in (0, 4, 5):
        old = record(OLD, 4 + arms % 2)
        made += cut(lay(old, old, arms), store_new, old_or_new, stride, store_and_see)
    return made


def store_odd(stride: int) -> int:
    """Store over nothing, one torn slot, two that differ, the last number, another unit's."""
    good = record(OLD, 4)
    made = cut(lay(None, None), store_new, dark_or_new, stride, store_and_see)
    stale = record(STALE, 3)
    for slots in ((good[:99], good), (good, None), (stale, good), (good, stale)):
        made += cut(lay(*slots), store_new, old_or_new, stride, store_and_see)
    top = record(OLD, 0xFFFFFFFF)
    made += cut(lay(top, top), store_new, old_or_new, stride, store_and_see)
    foreign = record(OLD, 4, "ffffffffffffffff")
    return made + cut(lay(foreign, foreign), store_new, dark_or_new, stride, store_and_see)


def mend(stride: int) -> int:
    """Load makes a copy, cut everywhere: the newer settings stay what is found."""
    new, old = record(NEW, 5), record(OLD, 4)
    made = 0
    for slots in ((new, old), (old, new), (new[:300], new), (new, None)):
        made += cut(lay(*slots), load, only(NEW), stride, store_and_see)
    return made


def marker(stride: int) -> int:
    """Arm and disarm: the marker is there or not, and settings are what they were."""
    made = 0

    def check(_done: bool) -> None:
        found = settings.was_armed()
        assert found is (ends if _done else found)
        only(OLD)(True)

    old = record(OLD, 4)
    for arms in (0, 3, 5, 6):
        ends = True
        made += cut(lay(old, old, arms), settings.arm, check, stride, settings.disarm)
        ends = False

        def prepare(arms=arms) -> None:
            lay(old, old, arms)()
            settings.arm()

        made += cut(prepare, settings.disarm, check, stride, settings.arm)
    return made


def entry(stride: int) -> int:
    """Add an entry at a file's first places, its last, and where the oldest is begun anew."""
    return sum(add_behind(count, stride) for count in (0, 1, 3, 24, 25, 100))


def add_behind(count: int, stride: int) -> int:
    return cut(
        lambda: journal_claims.fill(journal.Journal(), count),
        lambda: note(journal.Journal(), "fault", HOT, 777),
        lambda done: _all_or_one_more(count, done),
        stride,
        lambda: note(journal.Journal(), "boot"),
    )


def _all_or_one_more(count: int, done: bool) -> None:
    """Check that the entries are those before, without a gap, and perhaps the new one."""
    got = journal_claims.ticks(journal.Journal(), 1000 if done else ENTRIES + 3)
    there = bool(got) and got[0] == 777
    assert there or not done
    rest = got[1:] if there else got
    assert rest == list(range(count - 1, count - 1 - len(rest), -1))
    assert len(rest) >= min(count, (FILES - 1) * ENTRIES if done else ENTRIES)


RING = FILES * ENTRIES


def two_faults(more: int) -> None:
    log = journal.Journal()
    note(log, "fault", STUCK, 1)
    note(log, "fault", STATE, 2)
    journal_claims.fill(log, more)


def one_more() -> None:
    note(journal.Journal(), "boot")


def serve() -> None:
    note(journal.Journal(), "service")


def latched(_done: bool) -> None:
    log = journal.Journal()
    assert log.needs_service() == STUCK
    got = [(one.row, one.tick) for one in log.entries(1000) if one.needs_service]
    assert got == [(STATE, 2), (STUCK, 1)]


def latched_till_served(done: bool) -> None:
    row = journal.Journal().needs_service()
    assert row == -1 or (row == STUCK and not done)


def cleared(_done: bool) -> None:
    assert journal.Journal().needs_service() == -1


def second_fault() -> None:
    """Leave one fault put aside alone, another behind it, and a full file."""
    log = journal.Journal()
    note(log, "fault", STUCK, 1)
    journal_claims.fill(log, RING + ENTRIES)
    assert [one.row for one in log.entries(RING - ENTRIES)].count(STUCK) == 0
    note(log, "fault", STATE, 2)
    journal_claims.fill(log, ENTRIES - 2)


def keep(stride: int) -> int:
    """The faults that need service are put aside before the next file is begun."""
    made = cut(lambda: two_faults(ENTRIES - 2), one_more, latched, stride, one_more)
    return made + cut(second_fault, one_more, latched, stride, one_more)


def latch(stride: int) -> int:
    """A fault that needs service stays until its entry, and then never comes back."""

    def served() -> None:
        two_faults(RING)
        serve()
        journal_claims.fill(journal.Journal(), ENTRIES - 3)
        assert journal.KEPT in os.listdir()

    made = keep(stride)
    made += cut(lambda: two_faults(RING - 2), one_more, latched, stride, one_more)
    made += cut(lambda: two_faults(2 * RING), serve, latched_till_served, stride, serve)
    # the entry in `served` fills a file: with the next one the kept faults are thrown away
    made += cut(served, one_more, cleared, stride, one_more)
    return made


class Piecewise:
    """Stands in for `open`: each 96 bytes reach flash by themselves, so files are torn by cuts."""

    def __init__(self, name, mode) -> None:
        self.file = builtins.open(name, mode)
        self.seek = self.file.seek
        self.read = self.file.read
        self.readinto = self.file.readinto
        if mode == "wb":
            self.file.flush()

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.file.close()

    def write(self, data):
        for start in range(0, len(data), 96):
            self.file.write(data[start : start + 96])
            self.file.flush()


def torn(stride: int) -> int:
    """Store, mend, add and keep once more, on files that are not replaced in one step."""
    settings.open = journal.open = Piecewise
    old, new = record(OLD, 4), record(NEW, 5)
    made = cut(lay(old, old), store_new, old_or_new, stride, store_and_see)
    made += cut(lay(new, old), load, only(NEW), stride)
    made += add_behind(100, stride) + add_behind(7, stride)
    return made + keep(stride)


def claims(_stride: int) -> int:
    """Every claim of the two files, each on a flash of its own; the number of claims."""
    listed = settings_claims.CLAIMS + journal_claims.CLAIMS
    for claim in listed:
        flash = fresh(32)
        mount(flash)
        try:
            claim()
        except Exception:
            print("claim", claim.__name__)
            raise
        leave(flash)
    return len(listed)


SCENARIOS = {
    "store": store,
    "store_odd": store_odd,
    "mend": mend,
    "marker": marker,
    "entry": entry,
    "latch": latch,
    "torn": torn,
    "claims": claims,
}

if __name__ == "__main__":
    random.seed(int(sys.argv[2]))
    gc.collect()
    print(SCENARIOS[sys.argv[1]](int(sys.argv[3])))
