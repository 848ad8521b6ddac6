"""Put firmware and settings of a build onto a board: dark from the first byte to the last.

Order: everything that may refuse, before anything is written; `main.py` goes; stale files go; the
few modules that `boot.py` needs to go dark, and `boot.py`; all other modules; every file's hash
read back; settings, by the board's own code, into both slots; a journal entry; and only then
`main.py`, in one step. So wherever this ends early the board has no program: at power-on `boot.py`
goes dark and the prompt waits. Done again it goes on from there.

Limits. A board whose MicroPython itself is damaged is not mended here.
"""

import contextlib
import hashlib
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from diodedriver import settings as slots
from diodedriver import words
from diodewright.bench.image import BOOT, FOLDER, MAIN, SCRIPTS, image
from diodewright.bench.line import Line
from diodewright.bench.passport import as_built, halves, passport, read_as_built
from diodewright.bench.problems import BenchError
from diodewright.bench.reach import at_prompt, prompt_again, running, serial_of
from diodewright.bench.transport import Facts, Prompt
from diodewright.build import Build
from diodewright.build.extras import Missing
from diodewright.build.plain_file import printable

__all__ = ["Cargo", "Flashed", "compare", "flash"]

#: The first release whose timer calls in its own interrupt (`Timer(hard=True)`).
LEAST_RELEASE = (1, 26, 0)
CHIPS = ("RP2040", "RP2350")
FRESH = "main.new"
_BLOCK = 4096
_SPARE_BLOCKS = 4
#: The self-test takes a third of a second once key, interlock and trigger stand right [s].
_SELF_TEST_S = 5.0
_LOOK_S = 0.05
_NOT_YET = ('"testing"', '"boot"')
#: What boot.py needs to go dark; copied first.
_DARK_FIRST = tuple(f"{FOLDER}/{name}.mpy" for name in ("__init__", "pins", "board"))
_MOST_NAMED = 6
Say = Callable[[str], None]


@dataclass(frozen=True)
class Cargo:
    """What is to be on a board.

    Attributes
    ----------
    build : what the light is.
    values : settings words by name.
    despite : ids of findings that fail and are flashed nevertheless.
    """

    build: Build
    values: dict[str, int]
    despite: tuple[str, ...] = ()

    @property
    def passport(self) -> str:
        """Return the fingerprint over build, law and settings."""
        return passport(self.build, self.values)

    @property
    def text(self) -> str:
        """Return the as-built text of the settings' record."""
        return as_built(self.passport, self.despite)

    def record(self, unit: str) -> bytes:
        """Return the settings as a record for `unit`."""
        return slots.pack(self.values, unit, self.build.fingerprint[:16], self.text, 0)


@dataclass(frozen=True)
class Flashed:
    """A board as it answers behind its flash.

    Attributes
    ----------
    port, unit : where and which it is.
    release : of its MicroPython.
    passport : as the board tells it.
    written : how many files had to be written, settings counted as one.
    self_test : 0 passed, else the step that failed; -1: it waits.
    mode, barred : what it does now, and why light is impossible; "" where it is not.
    lit_s, starts : what it has counted so far; a power cut's light is in neither.
    """

    port: str
    unit: str
    release: str
    passport: str
    written: int
    self_test: int
    mode: str
    barred: str
    lit_s: int
    starts: int


def flash(port: str, cargo: Cargo, say: Say) -> Flashed:
    """Put `cargo` onto the board at `port`, restart it and wait for its self-test.

    Raises
    ------
    BenchError
        Any failure at the port; where it had begun, that the board stays dark is said too.
    Missing
        A program of the extra `bench` is not here.
    """
    number = serial_of(port)
    with at_prompt(port, say) as prompt:
        with _as_before(prompt):
            facts, wanted, there = _looked(prompt, cargo)
        with _stays_dark(prompt):
            if MAIN in there and not prompt.maintained:
                # a program that crashed may have left its watchdog armed: only a reset ends that
                prompt.remove(MAIN)
                prompt.reset()
                prompt_again(prompt, number)
                del there[MAIN]
            written = _put(prompt, cargo, facts, wanted, there, say)
        say(f"{prompt.port}: restarts")
        prompt.reset()
    with running(prompt.port, number) as line:
        return _ended(line, cargo, facts, written)


def compare(port: str, cargo: Cargo, say: Say) -> list[str]:
    """Return what on the board differs from `cargo`, in words; write nothing, and let it restart.

    Raises
    ------
    BenchError, Missing
        As in `flash`.
    """
    with at_prompt(port, say) as prompt:
        with _as_before(prompt):
            facts, wanted, there = _looked(prompt, cargo)
            found = [*_files_differ(wanted, there), *_settings_differ(prompt, cargo, facts.unit)]
        if MAIN in there:
            prompt.reset()
    return found


@contextlib.contextmanager
def _as_before(prompt: Prompt) -> Iterator[None]:
    """Let the board's own program run again where it is not flashed after all."""
    try:
        yield
    except (BenchError, Missing, KeyboardInterrupt):
        with contextlib.suppress(BenchError):
            prompt.reset()
        raise


@contextlib.contextmanager
def _stays_dark(prompt: Prompt) -> Iterator[None]:
    """Say of whatever ends the copying early what became of the board."""
    said = "the board has no whole program now and stays dark: flash it again"
    try:
        yield
    except BenchError as error:
        raise BenchError(f"{error}; {said}") from None
    except KeyboardInterrupt as stop:
        stop.add_note(f"{prompt.port}: stopped; {said}")
        raise


# before anything is written


def _looked(
    prompt: Prompt, cargo: Cargo
) -> tuple[Facts, dict[str, bytes], dict[str, tuple[str, int]]]:
    """Return the board's facts, the files it should have, and those that it has.

    Raises
    ------
    BenchError
        It is not fit for this firmware, has another program, or has no room.
    """
    facts = prompt.facts()
    _refuse_unfit(prompt.port, facts)
    cargo.record(facts.unit)
    made = image(prompt.port, facts.mpy)
    first = (*_DARK_FIRST, BOOT)
    wanted = {path: made[path] for path in (*first, *(path for path in made if path not in first))}
    there = prompt.hashes(FOLDER, SCRIPTS)
    for name in SCRIPTS:
        if name in there and FOLDER.encode() not in prompt.read(name):
            raise BenchError(
                f"{prompt.port}: a {name} of somebody else's is on this board: keep it elsewhere "
                "and clear the board first"
            )
    _refuse_full(prompt.port, facts, wanted, there)
    return facts, wanted, there


def _refuse_unfit(port: str, facts: Facts) -> None:
    release = ".".join(str(part) for part in facts.release)
    if facts.system != "micropython":
        raise BenchError(printable(f"{port}: {facts.system}, not MicroPython"))
    if tuple(facts.release) < LEAST_RELEASE:
        least = ".".join(str(part) for part in LEAST_RELEASE[:2])
        raise BenchError(
            printable(f"{port}: MicroPython {release}; a tick in the timer's own interrupt needs ")
            + f"{least} or later: put a newer one on the board"
        )
    if not any(chip in facts.machine for chip in CHIPS):
        raise BenchError(
            printable(f"{port}: {facts.machine}: this firmware has pins for {', '.join(CHIPS)}")
        )


def _digest(data: bytes) -> tuple[str, int]:
    return hashlib.sha256(data).hexdigest(), len(data)


def _blocks(size: int) -> int:
    return -(-size // _BLOCK)


def _refuse_full(
    port: str, facts: Facts, wanted: dict[str, bytes], there: dict[str, tuple[str, int]]
) -> None:
    fresh = [data for path, data in wanted.items() if there.get(path) != _digest(data)]
    stale = sum(_blocks(size) for path, (_, size) in there.items() if path not in wanted)
    need = (sum(_blocks(len(data)) for data in fresh) + _SPARE_BLOCKS) * _BLOCK if fresh else 0
    free = facts.free_bytes + stale * _BLOCK
    if free < need:
        raise BenchError(
            f"{port}: {free // 1024} KiB free on the board's flash, {need // 1024} needed: remove "
            "files from it; nothing was written"
        )


# what is written


def _put(
    prompt: Prompt,
    cargo: Cargo,
    facts: Facts,
    wanted: dict[str, bytes],
    there: dict[str, tuple[str, int]],
    say: Say,
) -> int:
    """Write what differs, in the order of this module's words; return how many files."""
    same = not _files_differ(wanted, there)
    settled = not _settings_differ(prompt, cargo, facts.unit)
    if same and settled:
        return 0
    if MAIN in there:
        prompt.remove(MAIN)
    written = _put_files(prompt, wanted, there, say)
    say(f"{prompt.port}: settings")
    prompt.enter()  # the new boot.py, and nothing of the old firmware in memory
    if not settled:
        record = cargo.record(facts.unit)
        prompt.run(f"from diodedriver import settings\nsettings.store({record!r}, {facts.unit!r})")
        if left := _settings_differ(prompt, cargo, facts.unit):
            raise BenchError(f"{prompt.port}: the board did not keep its settings: {left[0]}")
    _note(prompt, cargo)
    prompt.write(FRESH, wanted[MAIN])
    _verify(prompt, {FRESH: wanted[MAIN]}, (FRESH,))
    prompt.rename(FRESH, MAIN)
    return written + (not settled)


def _put_files(
    prompt: Prompt, wanted: dict[str, bytes], there: dict[str, tuple[str, int]], say: Say
) -> int:
    for path in there:
        if path not in wanted:
            prompt.remove(path)  # an old source would be loaded before a compiled file
    prompt.make_folder(FOLDER)
    fresh = {
        path: data
        for path, data in wanted.items()
        if path != MAIN and there.get(path) != _digest(data)
    }
    for place, (path, data) in enumerate(fresh.items()):
        say(f"{prompt.port}: {path} ({place + 1} of {len(fresh)})")
        prompt.write(path, data)
    say(f"{prompt.port}: reads back every file's hash")
    _verify(prompt, {path: data for path, data in wanted.items() if path != MAIN}, SCRIPTS)
    return len(fresh) + (MAIN not in there)


def _verify(prompt: Prompt, wanted: dict[str, bytes], names: tuple[str, ...]) -> None:
    found = prompt.hashes(FOLDER, names)
    for path, data in wanted.items():
        if found.get(path) != _digest(data):
            raise BenchError(f"{prompt.port}: {path} on the board is not what was sent")


def _note(prompt: Prompt, cargo: Cargo) -> None:
    """Write into the board's journal that it was flashed, with what, and despite how much."""
    how = f"despite {len(cargo.despite)}" if cargo.despite else "holds"
    first, second = halves(cargo.passport)
    prompt.run(
        "from diodedriver.journal import Journal\n_j = Journal()\n"
        f"_j.add('flashed', _j.boots, 0, {how!r}, -1, 0, 0, {first}, {second}, [])"
    )


# what differs


def _files_differ(wanted: dict[str, bytes], there: dict[str, tuple[str, int]]) -> list[str]:
    kinds = {
        "missing": [path for path in wanted if path not in there],
        "different": [
            p for p, data in wanted.items() if there.get(p, _digest(data)) != _digest(data)
        ],
        "not of this firmware": [path for path in there if path not in wanted],
    }
    return [f"{_named(paths)}: {kind}" for kind, paths in kinds.items() if paths]


def _named(names: list[str]) -> str:
    more = f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else ""
    return ", ".join(names[:_MOST_NAMED]) + more


def _settings_differ(prompt: Prompt, cargo: Cargo, unit: str) -> list[str]:
    """Return in words how the board's settings differ from the cargo's; both slots count."""
    blobs = [prompt.read(name) for name in slots.SLOTS]
    if not any(blobs):
        return ["settings: none"]
    try:
        records = [slots.unpack(blob, unit) for blob in blobs]
    except slots.Refused as error:
        return [printable(f"settings: {error}")]
    if blobs[0] != blobs[1]:
        return ["settings: the two slots differ"]
    return _words_differ(records[0], cargo)


def _words_differ(record: slots.Record, cargo: Cargo) -> list[str]:
    build = cargo.build.fingerprint[:16]
    found = []
    if record.fingerprint != build:
        found.append(printable(f"settings: of build {record.fingerprint}, this is {build}"))
    if record.as_built != cargo.text:
        found.append(printable(f"as-built text: {record.as_built or 'none'}; now {cargo.text}"))
    found += [
        f"{name}: {record.values[name]} {unit}, now {cargo.values[name]}"
        for name, unit, *_ in words.SETTINGS
        if record.values[name] != cargo.values[name]
    ]
    return found


# behind the restart


def _ended(line: Line, cargo: Cargo, facts: Facts, written: int) -> Flashed:
    """Wait for the self-test and return what the board says; it must be what was flashed."""
    until_s = time.monotonic() + _SELF_TEST_S
    while line.ask("STAT:MODE?") in _NOT_YET and time.monotonic() < until_s:
        time.sleep(_LOOK_S)
    told = read_as_built(line.ask("SETT:ASB?").strip('"'))
    unit = line.identity.unit
    if line.ask("STAT:BARR?")[1:-1].startswith("settings") or unit != facts.unit:
        raise BenchError(f"{line.name}: {line.ask('STAT:BARR?')}: flash it again")
    barred = line.ask("STAT:BARR?").strip('"')
    if told != (cargo.passport, cargo.despite) and not barred:
        raise BenchError(f"{line.name}: it tells passport {told[0]}, not {cargo.passport}")
    lit_s, _, starts = line.ask("SYST:HOUR?").partition(",")
    return Flashed(
        port=line.name,
        unit=unit,
        release=".".join(str(part) for part in facts.release),
        passport=told[0],
        written=written,
        self_test=int(line.ask("*TST?")),
        mode=line.ask("STAT:MODE?").strip('"'),
        barred=printable(barred),
        lit_s=int(lit_s),
        starts=int(starts),
    )
