"""A burst: every reading of every tick, kept by the board, fetched while dark.

The board keeps raw codes alone, six seconds at most (docs/serial.md); with state and readings of
the first tick the law gives every word again. While it keeps them it says fifty times a second what
it does: those words are kept beside, as its own account of itself.

Limits. What the board did between two of its lines of telemetry is known by its codes and by what
came of it later, not by its word. A burst ends early where a tick came later than 15 ms or the main
loop stood still for 127 ms.
"""

import time
from collections.abc import Callable, Mapping, Sequence

import numpy as np

from diodedriver import words
from diodedriver.acts import TELEMETRY
from diodedriver.driver import BURST_TICKS, unfold
from diodewright.bench.line import Line, checked
from diodewright.bench.problems import BenchError
from diodewright.bench.record import COLUMNS, Heard, provenance_of, words_of
from diodewright.bench.replay import Ints, Replayed, limits_of, replayed
from diodewright.bench.span import Record, Values
from diodewright.build import Build
from diodewright.derive import settings
from diodewright.sim import Engine, Trace, compiled

__all__ = ["BURST", "LONGEST_S", "RAW_COLUMNS", "is_burst", "raw_of", "replay_of", "take"]

BURST = "burst"
LONGEST_S = BURST_TICKS / 1000
#: Columns of a burst's raw codes, in the order of words.RAW.
RAW_COLUMNS = tuple(row[0] if row[0] != "level" else "level_asked" for row in words.RAW)
_RATE_HZ = 50
_ROWS_A_LINE = 32
_LOOK_S = 0.1
_SERIAL_LEVEL = 3
#: Operation register: settling, lit, testing (docs/serial.md).
_NOT_DARK = 2 | 256 | 2048
_CONFLICT = "-221"
_MODES = tuple(name for name, _ in words.MODES)


def take(
    line: Line,
    build: Build,
    length_s: float = LONGEST_S,
    from_mode: str = "",
    after_s: float = 0.0,
    wait_s: float = 120.0,
    say: Callable[[str], None] = lambda text: None,
) -> Trace:
    """Have the board keep a burst and fetch it.

    Parameters
    ----------
    length_s : how long [s], 0.001 to 6.
    from_mode : begin where the law is first seen in this mode; "" for at once.
    after_s : begin so much later [s].
    wait_s : how long to wait for that mode, and for the dark in which it is fetched [s].
    say : told what is waited for.

    Raises
    ------
    BenchError
        Another build's board, no dark or no such mode in time, or as `Line` does.
    """
    if from_mode and from_mode not in _MODES:
        raise BenchError(f"no mode {from_mode}: one of {', '.join(_MODES)}")
    _refuse_stranger(line, build)
    _make_room(line)
    line.tell(f"TEL {_RATE_HZ}")
    try:
        if from_mode or after_s:
            _wait_for_mode(line, from_mode, after_s, wait_s, say)
        asked = _level_asked(line)
        line.heard.clear()
        line.tell(f"BURS:STAR {round(1000 * length_s)} MS")
        said = _heard_meanwhile(line, length_s)
    finally:
        line.tell("TEL 0")
    _wait_for_dark(line, wait_s, say)
    say("fetching")
    state, readings, raw = _fetched(line)
    origin = {
        **provenance_of(build, line.identity, 1000.0),
        "recorder": BURST,
        "first_state": state,
        "first_readings": readings,
        "changed_limits": asked,
        "ended_early": len(raw) < round(1000 * length_s),
        "said": said,
    }
    return _as_trace(build, origin, raw)


def _refuse_stranger(line: Line, build: Build) -> None:
    if line.identity.build != build.fingerprint[:16]:
        raise BenchError(
            f"{line.name}: the board has settings of build {line.identity.build}, this is "
            f"{build.name} ({build.fingerprint[:16]})"
        )


def _make_room(line: Line) -> None:
    """Have the board find the memory, which the first burst since its boot does only while dark."""
    reply = line.ask("BURS:STAR MIN;:SYST:ERR?")
    number = reply.partition(",")[0]
    if number == _CONFLICT:
        raise BenchError(
            f"{line.name}: the light is on: let go of the trigger first, the board makes room for "
            "its first burst while dark"
        )
    if number != "0":
        raise BenchError(f"{line.name}: BURS:STAR: {reply}")


def _wait_for_mode(
    line: Line, mode: str, after_s: float, wait_s: float, say: Callable[[str], None]
) -> None:
    """Listen until the law is in `mode`, and for `after_s` [s] of the board's own ticks more."""
    say(f"waiting for mode {mode}" if mode else "waiting")
    until_s = time.monotonic() + wait_s
    begin: int | None = None
    while time.monotonic() < until_s:
        line.listen(_LOOK_S / 5)
        while line.heard:
            found = words_of(line.heard.popleft())
            if found is None or not found[1]:
                continue
            if begin is None and mode in ("", found[0]):
                begin = found[1]["tick"]
            if begin is not None and found[1]["tick"] - begin >= 1000 * after_s:
                return
    raise BenchError(f"{line.name}: no mode {mode or 'at all'} in {wait_s:g} s: no burst was taken")


def _level_asked(line: Line) -> dict[str, int]:
    """Return the limit word that serial may have moved: the level asked for by current."""
    if int(line.ask("STEP?")) != _SERIAL_LEVEL:
        return {}
    return {f"level_{_SERIAL_LEVEL}_mA": round(1000 * float(line.ask("CURR?")))}


def _heard_meanwhile(line: Line, length_s: float) -> list[dict[str, int]]:
    """Wait until the burst is whole; return what the board said of itself in that time."""
    said: list[dict[str, int]] = []
    until_s = time.monotonic() + length_s + line.reply_s
    while True:
        line.listen(_LOOK_S)
        while line.heard:
            found = words_of(line.heard.popleft())
            if found is not None and found[1]:
                said.append({"mode": _MODES.index(found[0]), **found[1]})
        kept, asked = (int(number) for number in line.ask("BURS:COUN?").split(","))
        if kept == asked:
            return said
        if time.monotonic() > until_s:
            raise BenchError(f"{line.name}: the burst stands at {kept} of {asked} ticks")


def _wait_for_dark(line: Line, wait_s: float, say: Callable[[str], None]) -> None:
    until_s = time.monotonic() + wait_s
    while int(line.ask("STAT:OPER:COND?")) & _NOT_DARK:
        say("let go of the trigger: the board gives a burst out while dark")
        if time.monotonic() > until_s:
            raise BenchError(
                f"{line.name}: still lit after {wait_s:g} s: the burst was not fetched"
            )
        line.listen(_LOOK_S)


def _fetched(line: Line) -> tuple[list[int], list[int], Ints]:
    """Return state and readings of the first tick, and the raw codes, a row a tick."""
    count = int(line.ask("BURS:COUN?").partition(",")[0])
    if count == 0:
        raise BenchError(f"{line.name}: the burst is empty: the law does not run")
    state = _numbers(line, "BURS:FIRS:STAT?", len(words.STATE))
    readings = _numbers(line, "BURS:FIRS:READ?", len(words.READINGS))
    raw = np.zeros((count, len(words.RAW)), dtype=np.int32)
    for row in range(0, count, _ROWS_A_LINE):
        many = min(_ROWS_A_LINE, count - row)
        first, said, *pairs = _sealed(line, f"BURS:ROWS? {row},{many}").split(",")
        if (first, said) != (str(row), str(many)) or len(pairs) != many:
            raise BenchError(f"{line.name}: asked for ticks {row} to {row + many - 1}, got others")
        for place, pair in enumerate(pairs):
            raw[row + place] = unfold(int(pair[:8], 16), int(pair[8:], 16))
    return state, readings, raw


def _numbers(line: Line, query: str, count: int) -> list[int]:
    numbers = [int(each) for each in _sealed(line, query).split(",")]
    if len(numbers) != count:
        raise BenchError(f"{line.name}: {query}: {len(numbers)} words, {count} expected")
    return numbers


def _sealed(line: Line, query: str) -> str:
    """Return the reply to a query that is only answered while dark, its sum checked."""
    reply = line.ask(f"{query};:SYST:ERR?")
    text, _, error = reply.partition(";")
    if not error:
        raise BenchError(f"{line.name}: {query}: {text}: lit again before the burst was fetched")
    found = checked(text)
    if found is None:
        raise BenchError(f"{line.name}: {query}: damaged reply {text[:60]}")
    return found


# burst <-> Trace


def is_burst(trace: Trace) -> bool:
    """Return whether a recording is a burst."""
    return trace.provenance.get("recorder") == BURST


def raw_of(trace: Trace) -> Ints:
    """Return the raw codes, a row a tick, in the order of words.RAW."""
    return np.stack([trace[name] for name in RAW_COLUMNS], axis=1).astype(np.int32)


def replay_of(record: Record, engine: Engine) -> Replayed:
    """Return what the law makes of a recorded burst.

    Raises
    ------
    BenchError
        It is no whole burst.
    """
    trace, origin = record.trace, record.trace.provenance
    if absent := [name for name in RAW_COLUMNS if name not in trace.columns]:
        raise record.refuse(f"has no {', '.join(absent)}")
    state, readings = origin.get("first_state"), origin.get("first_readings")
    changed = origin.get("changed_limits", {})
    if not (_are_words(state, words.STATE) and _are_words(readings, words.READINGS)):
        raise record.refuse("does not say in which state its first tick began")
    if not isinstance(changed, Mapping):
        raise record.refuse("does not say what serial had changed")
    try:
        limits = limits_of(settings(record.then), changed)
        raw = raw_of(trace)
    except (ValueError, TypeError) as error:
        raise record.refuse(str(error)) from None
    return replayed(engine, limits, state, readings, raw)  # type: ignore[arg-type]


def _are_words(values: object, table: Sequence[tuple[str, str, int, int, str]]) -> bool:
    """Return whether `values` are as many words as `table` has, each in its range."""
    return (
        isinstance(values, list)
        and len(values) == len(table)
        and all(
            isinstance(value, int) and row[2] <= value <= row[3]
            for value, row in zip(values, table, strict=True)
        )
    )


def _as_trace(build: Build, origin: Mapping[str, object], raw: Ints) -> Trace:
    """Return the burst as a Trace: its codes, and the columns that a recording has, by the law."""
    columns = {name: raw[:, place].astype(np.float64) for place, name in enumerate(RAW_COLUMNS)}
    bare = Trace({"time_s": np.arange(len(raw)) / 1000, **columns}, (), origin)
    law = replay_of(Record("burst", bare, build, build), compiled())
    return Trace({**bare.columns, **law_columns(law)}, (), origin)


def law_columns(law: Replayed) -> dict[str, Values]:
    """Return the columns that a recording of every tick of the law would have."""
    every = {name: law.word(name).tolist() for name, _ in TELEMETRY}
    rows = [
        Heard("", dict(zip(every, tick, strict=True)), 0.0)
        for tick in zip(*every.values(), strict=True)
    ]
    columns = {"mode": law.word("mode").astype(np.float64)}
    for name in COLUMNS:
        if name not in ("time_s", "mode"):
            columns[name] = np.array([row.value(name) for row in rows])
    return columns
