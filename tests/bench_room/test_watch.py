"""A board is watched over a real port: what is kept of it, and what it is ever told."""

import ast
import inspect
import re
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest

from cable import Answering, Cable
from diodedriver import acts, grammar
from diodedriver.commands import COMMANDS
from diodewright.bench import BenchError, Line
from diodewright.bench import watch as watching
from diodewright.bench.keeping import Keeper
from diodewright.bench.outlook import Outlook
from diodewright.bench.record import provenance_of
from diodewright.bench.watch import SENT, Watch, read_cause, run_watch
from diodewright.derive import settings
from diodewright.sim import Trace
from diodewright.twin import Event, Session
from serving import serve

RATE_HZ = 50


@pytest.fixture
def cable(tmp_path: Path) -> Iterator[Cable]:
    with Cable(tmp_path / "port") as plugged:
        yield plugged


def watched(session: Session, name: str, path: Path | None = None) -> Watch:
    line = Line(name)
    provenance = provenance_of(session.twin.build, line.identity, RATE_HZ)
    keeper = Keeper(RATE_HZ, provenance, path)
    return Watch(line, keeper, Outlook(settings(session.twin.build)), RATE_HZ)


def until(watch: Watch, true: Callable[[], bool], what: str = "") -> None:
    """Watch until something is so; fail where it does not come within 30 s."""
    end_s = time.monotonic() + 30
    while not true():
        assert time.monotonic() < end_s, f"never came: {what or inspect.getsource(true)}"
        watch.turn()


def readings(watch: Watch, more: int) -> None:
    """Watch until so many more readings are there."""
    wanted = len(watch.keeper.recorder) + more
    until(watch, lambda: len(watch.keeper.recorder) >= wanted)


def texts(trace: Trace) -> list[str]:
    return [text for _, text in trace.events]


def press(session: Session) -> None:
    session.step(events=[Event(0, "plant.trigger", 1.0)])


def test_a_watched_light_is_recorded_as_the_board_read_it(session: Session, cable: Cable) -> None:
    press(session)

    def client(name: str) -> Trace:
        watch = watched(session, name)
        until(watch, lambda: watch.seen is not None and watch.seen.mode in ("run", "limited"))
        readings(watch, 30)
        watch.end()
        return watch.keeper.recorder.trace()

    trace = serve(session, client, cable)
    # a press writes the armed marker first: flash holds the board's words up, and only there
    late = np.diff(trace["time_s"]) > 1.5 / RATE_HZ
    assert trace.provenance["gaps"] <= 2 and late.sum() <= 2 * trace.provenance["gaps"]
    lit = trace["mode"] >= 6
    assert trace["current_read_A"][-1] == pytest.approx(session.twin.true("diode_A"), abs=0.02)
    assert np.allclose(trace["drive_A"][lit], trace["current_read_A"][lit], atol=0.03)
    assert trace["time_s"][-1] == pytest.approx(
        (trace["tick"][-1] - trace["tick"][0]) / 1000, abs=1e-9
    )
    assert trace.provenance["damaged"] == 0
    assert trace.provenance["unit"] == session.twin.unit


def test_a_pulled_cable_is_a_gap_by_the_boards_tick_and_the_light_goes_on(
    session: Session, cable: Cable
) -> None:
    press(session)

    def client(name: str) -> tuple[Trace, float, float]:
        watch = watched(session, name)
        until(watch, lambda: watch.seen is not None and watch.seen.mode in ("run", "limited"))
        cable.unplug()
        until(watch, lambda: bool(watch.lost))
        at_ms = session.twin.now
        until(watch, lambda: session.twin.now > at_ms + 3000)
        lit_A = session.twin.true("diode_A")
        cable.plug()
        until(watch, lambda: not watch.lost)
        readings(watch, 10)
        watch.end()
        return watch.keeper.recorder.trace(), lit_A, at_ms

    trace, lit_A, _ = serve(session, client, cable)
    assert lit_A > 0.5, "the light is the board's own business"
    assert (trace.provenance["restarts"], trace.provenance["damaged"]) == (0, 0)
    empty = np.isnan(trace["mode"])
    longest = int(np.argmax(np.where(empty[1:-1], trace["time_s"][2:] - trace["time_s"][:-2], 0)))
    away_s = (trace["tick"][longest + 2] - trace["tick"][longest]) / 1000
    assert away_s > 3
    assert f"gap of {away_s:.2f} s" in texts(trace)
    for name in set(trace.columns) - {"time_s"}:
        assert np.isnan(trace[name][longest + 1]), name
    assert any(text.startswith("line lost: ") for text in texts(trace))
    assert any(text.startswith("line back after ") for text in texts(trace))


def test_a_board_that_was_reset_while_the_cable_was_out_is_told_from_one_that_ran_on(
    session: Session, cable: Cable
) -> None:
    def client(name: str) -> tuple[Trace, float]:
        watch = watched(session, name)
        readings(watch, 5)
        cable.unplug()
        until(watch, lambda: bool(watch.lost))
        cable.let(lambda: session.twin.reset(1))
        at_ms, tick = session.twin.now, watch.keeper.recorder.trace()["tick"][-2]
        # so long that its new tick has passed the old one: the tick alone would hide the reset
        until(watch, lambda: session.twin.now > at_ms + 2 * tick + 2000)
        cable.plug()
        until(watch, lambda: not watch.lost)
        readings(watch, 10)
        watch.end()
        return watch.keeper.recorder.trace(), tick

    trace, before = serve(session, client, cable)
    assert trace.provenance["restarts"] == 1
    assert "board restarted: its tick starts anew" in texts(trace)
    assert sum("by the host's clock" in text for text in texts(trace)) == 1
    assert trace["tick"][-1] > before
    assert (np.diff(trace["time_s"]) >= 0).all()


def test_a_board_that_resets_on_the_line_is_asked_for_telemetry_again(
    session: Session, cable: Cable
) -> None:
    def client(name: str) -> Trace:
        watch = watched(session, name)
        readings(watch, 5)
        cable.let(lambda: session.twin.reset(3))
        readings(watch, 10)
        watch.end()
        return watch.keeper.recorder.trace()

    trace = serve(session, client, cable)
    assert trace.provenance["restarts"] == 1
    assert sum("by the host's clock" in text for text in texts(trace)) == 1


def test_another_unit_at_the_port_is_never_taken_for_the_first(
    session: Session, cable: Cable, tmp_path: Path
) -> None:
    fingerprint = session.twin.build.fingerprint[:16].encode()

    def client(name: str) -> tuple[str, str, Trace]:
        watch = watched(session, name)
        readings(watch, 5)
        cable.unplug()
        until(watch, lambda: bool(watch.lost))
        with Answering(tmp_path / "port", b"diodewright," + fingerprint + b",00ff,1\n"):
            until(watch, lambda: "another unit" in watch.lost)
            told = watch.lost
        cable.plug()
        until(watch, lambda: not watch.lost)
        readings(watch, 5)
        cable.unplug()
        until(watch, lambda: bool(watch.lost))
        with Answering(tmp_path / "port", f"diodewright,beef,{session.twin.unit},1\n".encode()):
            until(watch, lambda: bool(watch.over))
        return told, watch.over, watch.keeper.recorder.trace()

    told, over, trace = serve(session, client, cable)
    assert told == f"another unit is at {cable.name}: 00ff"
    assert over == "the board was flashed anew, for build beef"
    assert trace.provenance["restarts"] == 0


def test_damaged_lines_are_counted_and_leave_gaps(session: Session, cable: Cable) -> None:
    broken = [b"@dark", b"@dbrk"], [b",", b";"], [b"@", b"?"]

    def client(name: str) -> Trace:
        watch = watched(session, name)
        readings(watch, 5)
        for right, wrong in broken:
            bent: list[int] = []

            def bend(data: bytes, right: bytes = right, wrong: bytes = wrong) -> bytes:
                if data.startswith(b"@") and not bent:  # noqa: B023
                    bent.append(1)  # noqa: B023
                    return data.replace(right, wrong, 1)
                return data

            cable.bend = bend
            readings(watch, 5)
        watch.end()
        return watch.keeper.recorder.trace()

    trace = serve(session, client, cable)
    assert trace.provenance["damaged"] == 3
    assert trace.provenance["gaps"] >= 3


def test_a_fault_is_told_with_what_the_board_keeps_of_it(session: Session, cable: Cable) -> None:
    press(session)

    def client(name: str) -> tuple[Watch, list[str]]:
        watch = watched(session, name)
        until(watch, lambda: watch.seen is not None and watch.seen.mode in ("run", "limited"))
        cable.let(lambda: session.twin.strike(Event(0, "plant.diode_open", 1.0)))
        until(watch, lambda: watch.cause is not None)
        watch.end()
        return watch, texts(watch.keeper.recorder.trace())

    watch, events = serve(session, client, cable)
    assert watch.cause is not None
    assert acts.words.FAULTS[watch.cause.row][0] in ("open", "latch")
    assert any(text.startswith("fault: ") for text in events)


def test_odd_replies_about_the_cause_are_no_cause() -> None:
    good = read_cause('8,"hot","release",71234,33320,33315')
    assert good is not None and (good.row, good.reading, good.limit) == (8, 33320, 33315)
    for odd in ("", '-1,"","",0,0,0', "99,a,b,0,0,0", "x", '8,"hot"', "0;1"):
        assert read_cause(odd) is None


# what it may send

KEYS = [chr(code) for code in (*range(32, 127), 3, 9, 10, 27) if chr(code) != "q"]
GREETING = {"", "*CLS", "*IDN?", "SYST:ERR?"}


def test_no_key_and_no_moment_sends_what_lights_or_raises_a_limit(
    session: Session, cable: Cable
) -> None:
    press(session)

    def client(name: str) -> None:
        watch = watched(session, name)
        left = [*KEYS]

        def keys() -> Iterator[str]:
            yield from left[:20] or "q"
            del left[:20]

        run_watch(watch, keys, lambda watch: None, None)
        cable.unplug()
        until(watch, lambda: bool(watch.lost))
        watch.make_dark()
        cable.plug()
        until(watch, lambda: not watch.lost)
        # a limit that differs from its complement latches a row; the next boot bars light by it
        cable.let(lambda: session.twin.strike(Event(0, "limits.level_0_mA", 900.0)))
        until(watch, lambda: watch.cause is not None)
        at_ms = session.twin.now
        until(watch, lambda: session.twin.now > at_ms + 1000)
        cable.let(lambda: session.twin.reset(3))
        until(watch, lambda: bool(watch.barred))
        watch.end()

    serve(session, client, cable)
    sent = b"".join(bytes.fromhex(data) for _, data in session.record.given).decode("ascii")
    lines = {line.strip() for line in sent.split("\n")}
    allowed = {text.format(rate=rate) for text in SENT.values() for rate in (0, RATE_HZ)}
    assert lines - GREETING == allowed, "each was sent, and nothing else"
    assert not re.search(r"OUTP\S*\s+(?:ON|1)|CURR|STEP|MAIN|SERV|SETT|\x03", sent, re.I)


def test_every_row_of_what_is_sent_asks_makes_dark_or_sets_the_rate_of_telemetry() -> None:
    headers = grammar.Headers([row[0] for row in COMMANDS])
    for text in SENT.values():
        head, _, rest = text.format(rate=50).partition(" ")
        asks = head.endswith("?")
        row = COMMANDS[headers.find(head.rstrip("?").split(":"), asks)]
        values = grammar.parameters(rest, row[1], lambda name: 0)
        assert asks or (row[3], values) in ((acts.allow, [0]), (acts.set_telemetry, [50])), text


def test_nothing_is_sent_but_by_that_table() -> None:
    tree = ast.parse(inspect.getsource(watching))
    calls = [
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute)
        and node.func.attr in ("tell", "ask", "ask_sealed", "write", "_send")
    ]
    assert len(calls) > 6
    for call in calls:
        assert ast.unparse(call.args[0]).startswith("SENT["), ast.unparse(call)


def test_one_call_makes_a_lit_board_dark_and_no_press_lights_it_again(
    session: Session, cable: Cable
) -> None:
    press(session)

    def client(name: str) -> tuple[float, Watch, float]:
        watch = watched(session, name)
        until(watch, lambda: watch.seen is not None and watch.seen.mode in ("run", "limited"))
        before_A = session.twin.true("diode_A")
        watch.make_dark()
        return before_A, watch, session.twin.true("diode_A")

    before_A, watch, after_A = serve(session, client, cable)
    assert before_A > 0.5 and after_A < 0.001
    assert watch.gate is False and watch.said[-1] == "made dark: OUTPut OFF"
    session.step(events=[Event(0, "plant.trigger", 0.0)])
    for _ in range(100):
        session.step()
    press(session)
    for _ in range(7000):
        session.step()
    assert session.twin.true("diode_A") < 0.001


def test_without_a_line_the_key_says_that_it_did_nothing(session: Session, cable: Cable) -> None:
    def client(name: str) -> str:
        watch = watched(session, name)
        readings(watch, 3)
        cable.unplug()
        until(watch, lambda: bool(watch.lost))
        watch.make_dark()
        return watch.said[-1]

    assert serve(session, client, cable).startswith("NOT SENT, no line to the board")


def test_a_busy_or_silent_port_is_one_line(session: Session, cable: Cable, tmp_path: Path) -> None:
    def client(name: str) -> str:
        with Line(name), pytest.raises(BenchError) as refused:
            watched(session, name)
        return str(refused.value)

    assert "in use by another program" in serve(session, client, cable)
