"""Wear and heap of settings and journal in real MicroPython; prints figures as JSON.

Run as ``micropython flash_wear.py wear ENTRIES`` or ``micropython flash_wear.py heap``.
"""

import gc
import json
import sys

import journal_claims
from diodedriver import journal, settings
from flash import Flash, fresh, leave, mount
from journal_claims import ENTRIES, FILES, HOT, note
from settings_claims import NEW, OLD, UNIT, record

#: the twin's flash, a part of which holds the firmware and never moves
BLOCKS = 256
FIXED = 64
#: entries from one boot to the next
A_BOOT = 20


def wear(entries: int) -> dict:
    """Count erases: each entry with one arming and disarming, and a store at every 50th."""
    flash = fresh(BLOCKS)
    mount(flash)
    for name in range(FIXED // 8):
        with open(f"fixed.{name}", "wb") as file:
            for _ in range(8):
                file.write(bytes(4096 - 8))
    before = sum(flash.erases)
    stores = 0
    log = journal.Journal()
    for count in range(entries):
        if count % A_BOOT == 0:
            leave(flash)
            held, erases = flash.held, flash.erases
            flash = Flash(BLOCKS, held)
            flash.erases = erases
            mount(flash)
            log = journal.Journal()
        note(log, "fault" if count % A_BOOT else "boot", HOT, count)
        settings.arm()
        settings.disarm()
        if count % 50 == 0:
            settings.store(record(NEW if stores % 2 else OLD), UNIT)
            stores += 1
    assert journal_claims.ticks(journal.Journal(), 2) == [entries - 1, entries - 2]
    assert settings.load(UNIT).sequence == stores - 1
    return {
        "entries": entries,
        "stores": stores,
        "most": max(flash.erases),
        "all": sum(flash.erases) - before,
        "untouched": sum(1 for count in flash.erases if count == 0),
    }


def heap() -> dict:
    """Return what is in use after a collection, behind each of many rounds of the same work."""
    mount(fresh(32))
    settings.store(record(OLD), UNIT)
    log = journal.Journal()
    used = {"entries": [0] * 48, "loads": [0] * 48, "stores": [0] * 48}

    def collect(name: str, turn: int) -> None:
        gc.collect()
        used[name][turn] = gc.mem_alloc()

    for turn in range(48):
        for _ in range(FILES * ENTRIES // 8):
            note(log, "fault", HOT, 5)
        collect("entries", turn)
    for turn in range(48):
        settings.load(UNIT)
        journal.Journal()
        collect("loads", turn)
    for turn in range(48):
        settings.store(record(NEW), UNIT)
        collect("stores", turn)
    return used


if __name__ == "__main__":
    print(json.dumps(wear(int(sys.argv[2])) if sys.argv[1] == "wear" else heap()))
