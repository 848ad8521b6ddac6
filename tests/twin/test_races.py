"""With a tick between any two statements of the main loop, nothing that it tells is torn.

Every telemetry line, cause, journal entry and burst row must be of one completed tick: all
words behind every tick are kept by the host and compared. Broken copies show that this can fail.
"""

import random

import pytest

from diodewright.build import load
from diodewright.derive import settings
from diodewright.twin import Event
from marked import READ, STATE, Edits, Marked, torn_cause, torn_entries, torn_rows, torn_telemetry
from stories import press, release, until

NAME = "cave_lamp"
LIMITS = settings(load(NAME))
SEEDS = (1, 2, 3)


def flap(twin: Marked, draw: random.Random, ms: int) -> None:
    """Let `ms` pass in which ticks come late now and then: row "late" latches and clears."""
    until_ms = twin.now + ms
    while twin.now < until_ms:
        twin.strike(Event(0, "chip.stride", 3))
        twin.run(draw.randint(3, 8))
        twin.strike(Event(0, "chip.stride", 1))
        twin.run(draw.randint(2, 12))


def read_journal(twin: Marked) -> list[str]:
    entries = [twin.ask("JOUR:REW;:JOUR?")[0]]
    while entries[-1] != '""':
        entries.append(twin.ask("JOUR?")[0])
    return entries[:-1]


def tell_dark(twin: Marked, seed: int) -> dict[str, tuple[int, int]]:
    """Let a board tell all it can while dark, a row latching and clearing; (torn, told) of each."""
    draw = random.Random(seed)
    until(twin, "dark")
    twin.send(b"TEL 25\nBURS:STAR 60ms\n")
    lines: list[str] = []
    causes = torn_causes = 0
    for _ in range(30):
        flap(twin, draw, 60)
        since = max(twin.ticks)
        reply, between = twin.ask("STAT:CAUS?")
        lines += between
        causes += 1
        torn_causes += torn_cause(twin, LIMITS, reply, since)
    burst = [twin.ask(f"BURS:FIRS:{what}?")[0] for what in ("STAT", "READ")]
    pieces = [twin.ask(f"BURS:ROWS? {at},20")[0] for at in (0, 20, 40)]
    rows = [row for piece in pieces for row in piece.split(",")[2:-1]]
    twin.run(400)
    entries = read_journal(twin)
    lines += twin.lines()
    sound(twin)
    return {
        "telemetry": (sum(bool(torn_telemetry(twin, line)) for line in lines), len(lines)),
        "causes": (torn_causes, causes),
        "entries": (len(torn_entries(twin, LIMITS, entries)), len(entries)),
        "rows": (len(torn_rows(twin, *burst, rows)), len(rows)),
    }


def tell_lit(twin: Marked) -> tuple[int, int]:
    """Let a lit board tell its telemetry, its level moved; return lines torn and told."""
    until(twin, "dark")
    twin.send(b"TEL 25\n")
    press(twin)
    until(twin, "run", "limited")
    for asked in (120, 300, 200, 500):
        twin.send(f"CURR {asked}mA;:MEAS:CURR?;VOLT?\n".encode())
        twin.run(250)
    release(twin)
    twin.run(300)
    lines = [line for line in twin.lines() if line.startswith("@")]
    sound(twin)
    assert {"dark", "soft_start", "run"} <= {line[1:].partition(",")[0] for line in lines}
    return sum(bool(torn_telemetry(twin, line)) for line in lines), len(lines)


def sound(twin: Marked) -> None:
    """Assert that the program still runs, and that ticks came between its statements."""
    assert twin.ended_at is None and not twin.resets, twin.console
    assert all(tick.state[STATE["cause"]] != 1 for tick in twin.ticks.values()), "row settings"
    beats = max(tick.readings[READ["beat_ticks"]] for tick in twin.ticks.values())
    assert 5 < beats < LIMITS["beat_max_ticks"], beats


#: A row that comes again at once is written every time: there is more to look at.
OFTEN = (("run.py", "AGAIN_MS = 10_000", "AGAIN_MS = -1"),)


@pytest.mark.parametrize("seed", SEEDS)
def test_all_that_serial_and_journal_tell_is_of_one_completed_tick(yielding, seed: int) -> None:
    found = tell_dark(yielding(seed, OFTEN), seed)
    found["lit"] = tell_lit(yielding(seed))
    print(found)
    assert {kind: torn for kind, (torn, _) in found.items()} == dict.fromkeys(found, 0)
    least = {"telemetry": 30, "lit": 15, "causes": 30, "entries": 10, "rows": 60}
    assert all(found[kind][1] >= count for kind, count in least.items()), found


LOUD = "        driver.board.loud(before)\n"
SNAPSHOT = (
    "        before = driver.board.quiet()\n"
    "        self.seen_state[WHOLE] = driver.state\n"
    "        self.seen_readings[WHOLE] = driver.readings\n" + LOUD
)
#: What is broken -> the edits of the firmware, and the kinds of which some must be found torn.
TORN: dict[str, tuple[Edits, set[str]]] = {
    "a snapshot with interrupts on": (
        (
            (
                "panel.py",
                SNAPSHOT,
                "        self.seen_state[WHOLE] = driver.state\n"
                "        self.seen_readings[WHOLE] = driver.readings\n",
            ),
        ),
        {"telemetry"},
    ),
    "a snapshot word by word": (
        (
            (
                "panel.py",
                SNAPSHOT,
                "        for place, word in enumerate(driver.state):\n"
                "            self.seen_state[place] = word\n"
                "        for place, word in enumerate(driver.readings):\n"
                "            self.seen_readings[place] = word\n",
            ),
        ),
        {"telemetry"},
    ),
    "a mode that is not the snapshot's": (
        (("acts.py", "panel.seen_mode_name()", "panel.mode_name()"),),
        {"telemetry"},
    ),
    "a cause read from the running state": (
        (("driver.py", 'self.kept = array("i", self.state)', "self.kept = self.state"),),
        {"entries"},
    ),
    "a burst begun with interrupts on": (
        (
            (
                "panel.py",
                "        before = driver.board.quiet()\n        state[WHOLE]",
                "        state[WHOLE]",
            ),
            (
                "panel.py",
                "        driver.burst_end = ticks\n" + LOUD,
                "        driver.burst_end = ticks\n",
            ),
        ),
        {"rows"},
    ),
}


@pytest.mark.parametrize("broken", TORN)
def test_a_firmware_that_tears_is_found_out(yielding, broken: str) -> None:
    edits, kinds = TORN[broken]
    torn: set[str] = set()
    for seed in range(1, 9):
        found = tell_dark(yielding(seed, (*OFTEN, *edits)), seed)
        print(broken, seed, found)
        torn |= {kind for kind, (count, _) in found.items() if count}
        if kinds <= torn:
            return
    raise AssertionError(f"{broken}: only {torn} found torn")


def ask_for_levels(twin: Marked) -> int:
    """Ask for many levels over serial; return the law's first cause, row + 1."""
    until(twin, "dark")
    for turn in range(100):
        twin.send(f"CURR {200 + turn}mA\n".encode())
        twin.run(40)
    assert twin.ask("CURR?")[0] == "0.299"
    return max(tick.state[STATE["cause"]] for tick in twin.ticks.values())


def test_a_level_asked_for_never_meets_its_complement_half_changed(yielding) -> None:
    assert ask_for_levels(yielding(1)) == 0
    twin = yielding(
        1,
        (
            (
                "panel.py",
                "        before = driver.board.quiet()\n        driver.limits[place]",
                "        driver.limits[place]",
            ),
            (
                "panel.py",
                "        driver.level = _SERIAL_LEVEL\n" + LOUD,
                "        driver.level = _SERIAL_LEVEL\n",
            ),
        ),
    )
    assert ask_for_levels(twin) == 1, "row settings is latched by a half-changed limit"


def test_what_allocates_with_interrupts_off_ends_the_program_here(yielding) -> None:
    """On a chip it might collect garbage there, and hold ticks off for tens of milliseconds."""
    edits = (
        ("panel.py", "self.seen_state[WHOLE] = driver.state", "self.seen_state[:] = driver.state"),
    )
    twin = yielding(1, edits)
    until(twin, "dark")
    twin.send(b"MEAS:CURR?\n")
    twin.run(100)
    assert "heap is locked" in twin.said().decode()
