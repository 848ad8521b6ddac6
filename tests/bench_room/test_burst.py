"""A burst of a board: every tick kept, fetched while dark, and run again to the bit."""

import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from diodedriver import words
from diodewright.bench import BenchError, Line
from diodewright.bench.against_law import judged_law
from diodewright.bench.burst import RAW_COLUMNS, replay_of, take
from diodewright.bench.span import Record
from diodewright.build import load
from diodewright.sim import Trace, compiled
from diodewright.twin import Event, Session
from serving import serve


class Watched:
    """A board that keeps its own account of every tick, and a hand on its trigger."""

    def __init__(self, session: Session, hand: Callable[[int, str], float | None]) -> None:
        self.session, self.hand = session, hand
        self.twin = session.twin
        self.looks: list[tuple[str, int]] = []
        self.begun = session.twin.now

    def step(self, data: bytes = b"") -> bytes:
        # a busy host must find the time to answer: ticks would pass by the thousand meanwhile
        time.sleep(0 if data else 0.0002)
        pressed = self.hand(self.twin.now - self.begun, self.twin.look.mode)
        events = [] if pressed is None else [Event(0, "plant.trigger", pressed)]
        said = self.session.step(data, events)
        look = self.twin.look
        self.looks.append((look.mode, round(64_000 * look.drive_A)))
        return said


def a_use(now: int, _mode: str) -> float | None:
    """Return what the hand does: presses after 0.2 s, lets go 16 s later."""
    return {200: 1.0, 16_200: 0.0}.get(now)


@pytest.fixture
def taken(session: Session) -> tuple[Record, Watched]:
    """Return a burst of the rise of smoke_tunnel's light, and what the board truly did."""
    board = Watched(session, a_use)
    build = session.twin.build

    def client(port: str) -> Trace:
        with Line(port, reply_s=60) as line:
            return take(line, build, 1.5, "soft_start")

    trace = serve(board, client)  # type: ignore[arg-type]
    return Record("burst.npz", trace, build, build), board


def _flipped(record: Record, column: str, row: int, bit: int) -> Record:
    columns = {name: values.copy() for name, values in record.trace.columns.items()}
    columns[column][row] = float(int(columns[column][row]) ^ (1 << bit))
    return replace(record, trace=replace(record.trace, columns=columns))


def test_a_burst_over_a_port_runs_again_to_the_bit_and_a_flipped_code_is_the_first_difference(
    taken: tuple[Record, Watched], tmp_path: Path
) -> None:
    record, board = taken
    trace = record.trace
    assert len(trace) == 1500 and not trace.provenance["ended_early"]
    law = replay_of(record, compiled())
    again = [
        (words.MODES[mode][0], int(drive))
        for mode, drive in zip(law.word("mode"), law.word("drive"), strict=True)
    ]
    # the law's tick counter says where in the board's own account these ticks lie
    assert any(board.looks[at : at + 1500] == again for at in range(len(board.looks) - 1499))
    assert {mode for mode, _ in again} & {"soft_start", "limited"}  # lit

    judged = judged_law(record, compiled())
    assert judged.first is None and judged.ticks == 1500
    assert judged.said >= 20  # fifty lines a second, less what a busy host lost

    trace.save_npz(tmp_path / "burst.npz")
    trace.save_csv(tmp_path / "burst.csv")
    for kept in (Trace.load_npz(tmp_path / "burst.npz"), Trace.load_csv(tmp_path / "burst.csv")):
        assert judged_law(replace(record, trace=kept), compiled()) == judged

    first = judged_law(_flipped(record, "current_code", 1200, 5), compiled()).first
    assert first is not None
    assert (first.row, first.word) == (1200, "current_read_A")
    assert first.tick == trace["tick"][1200] and first.law != first.board
    pressed = judged_law(_flipped(record, "pins", 300, 0), compiled()).first
    assert pressed is not None and (pressed.row, pressed.word) == (300, "mode")
    lit = words.MODES[int(trace["mode"][300])][0]
    assert (pressed.law, pressed.board) == ("dark", lit) and lit != "dark"

    # what the board said of itself is held against the law as well
    said = [dict(each) for each in trace.provenance["said"]]  # type: ignore[attr-defined]
    told = next(each for each in said if trace["tick"][500] < each["tick"] <= trace["tick"][-1])
    told["drive"] += 1
    lied = replace(trace, provenance={**trace.provenance, "said": said})
    found = judged_law(replace(record, trace=lied), compiled()).first
    assert found is not None
    assert (found.word, found.tick) == ("drive", told["tick"])
    assert found.whose == "its telemetry"


def test_a_level_that_serial_had_set_is_the_replays_too(session: Session) -> None:
    board = Watched(session, lambda now, _: {100: 1.0, 20_000: 0.0}.get(now))
    build = session.twin.build

    def client(port: str) -> Trace:
        with Line(port, reply_s=60) as line:
            line.tell("CURR 0.4")
            return take(line, build, 0.5, "run")

    trace = serve(board, client)  # type: ignore[arg-type]
    assert trace.provenance["changed_limits"] == {"level_3_mA": 400}
    record = Record("b", trace, build, build)
    judged = judged_law(record, compiled())
    assert judged.first is None
    assert 0.3 < trace["drive_A"].max() <= 0.42
    # without it the law would have gone on to another level
    forgot = replace(trace, provenance={**trace.provenance, "changed_limits": {}})
    assert judged_law(replace(record, trace=forgot), compiled()).first is not None


def test_a_burst_is_refused_from_another_builds_board_and_while_lit(session: Session) -> None:
    board = Watched(session, lambda now, _: {50: 1.0}.get(now))

    def client(port: str) -> list[str]:
        told = []
        with Line(port, reply_s=60) as line:
            for build, length_s, mode, wait_s in (
                (load("cave_lamp"), 1.0, "", 1.0),
                (session.twin.build, 1.0, "purple", 1.0),
                (session.twin.build, 0.1, "pack_low", 0.2),
            ):
                with pytest.raises(BenchError) as refused:
                    take(line, build, length_s, mode, wait_s=wait_s)
                told.append(str(refused.value))
        return told

    stranger, purple, never = serve(board, client)  # type: ignore[arg-type]
    assert "cave_lamp" in stranger and session.twin.build.fingerprint[:16] in stranger
    assert "no mode purple: one of boot, dark" in purple
    assert "no mode pack_low in 0.2 s: no burst was taken" in never


def test_the_first_burst_since_the_boot_is_not_taken_while_lit(session: Session) -> None:
    for tick in range(6000):
        session.step(b"", [Event(0, "plant.trigger", 1.0)] if tick == 50 else ())
    assert session.twin.look.drive_A > 0

    def client(port: str) -> str:
        with Line(port, reply_s=60) as line, pytest.raises(BenchError) as refused:
            take(line, session.twin.build, 1.0)
        return str(refused.value)

    assert "the light is on: let go of the trigger first" in serve(session, client)


def test_a_recording_that_is_no_whole_burst_is_refused(taken: tuple[Record, Watched]) -> None:
    record, _ = taken
    trace = record.trace
    columns = {name: trace[name] for name in trace.columns if name != RAW_COLUMNS[2]}
    with pytest.raises(BenchError, match="has no mux_code"):
        replay_of(replace(record, trace=replace(trace, columns=columns)), compiled())
    short = {**trace.provenance, "first_state": [1, 2, 3]}
    with pytest.raises(BenchError, match="in which state its first tick began"):
        replay_of(replace(record, trace=replace(trace, provenance=short)), compiled())
    assert np.isfinite(trace["mount_read_degC"]).all()
