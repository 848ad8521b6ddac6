"""The simulated board, live: what it shows, what it truly does, and the hand on it."""

import signal
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import msgspec
from rich.live import Live
from rich.table import Table
from rich.text import Text

from diodewright.build import Build
from diodewright.report.files import make_folder, write_together
from diodewright.report.keyboard import keys_pressed
from diodewright.report.terminal import block, screen
from diodewright.report.wording import number
from diodewright.twin import Port, Session, Twin, read_recording, replay
from diodewright.twin.live import KEYS, Panel, run_live

__all__ = ["replay_twin", "show_twin"]

SESSION = "session.json"
_LAMPS = ("indicator", "warn", "blink")
_NOT_RUN = "not running: boot, self-test, or barred (STATus:BARRed? says why)"
_LIMITS = (
    "a simulated board: statements take no time, a tick never meets a statement half done, "
    "and typical parts stand in for yours; it never lights anything"
)


def show_twin(
    build: Build,
    seed: int,
    charge_pct: float,
    speed: float,
    for_s: float | None,
    folder: Path | None,
) -> int:
    """Run the firmware on a simulated board until it is ended; return 0.

    Prints the serial port's name first, on a line of its own, and what the session came to last.

    Raises
    ------
    Absent
        No MicroPython here.
    EngineError
        The compiled engine can't be made here.
    CannotWrite
        `folder` can't be made or written.
    """
    if folder is not None:
        make_folder(folder)
    out = screen()
    with Session(build, seed, charge_pct) as session, Port() as port:
        out.print(Text(f"port {port.name}"), soft_wrap=True)
        sys.stdout.flush()
        panel = Panel(session)
        until_ms = None if for_s is None else round(1000 * for_s)
        signal.signal(signal.SIGTERM, signal.default_int_handler)
        try:
            with keys_pressed() as keys, _shown(panel, port.name) as show:
                run_live(panel, port, speed, until_ms, keys, show)
        except KeyboardInterrupt:
            pass
        _conclude(panel, folder)
    return 0


def replay_twin(build: Build, path: Path) -> int:
    """Replay a recorded session; return 0 where every answer came again in its tick, else 1."""
    record = read_recording(path, build)
    difference = replay(record, build)
    out = screen()
    seconds = number(record.ticks / 1000, 4)
    if difference:
        block(out, "differs", [difference])
        return 1
    block(out, "same", [f"{seconds} s, {len(record.said)} answers, each in its tick"])
    return 0


def _conclude(panel: Panel, folder: Path | None) -> None:
    session = panel.session
    twin = session.twin
    out = screen()
    peak_A = twin.peak_A()
    lines = [f"{number(twin.now / 1000, 4)} s simulated; highest diode current {peak_A:.3f} A"]
    lines += [f"at the end: {twin.look.mode or _NOT_RUN}"]
    lines += [f"reset at {at / 1000:.3f} s" for at, _ in twin.resets]
    lines += [f"fault injected: {name}" for name in panel.struck]
    block(out, "ended", lines)
    if folder is not None:
        data = msgspec.json.encode(session.record)
        write_together(folder, {SESSION: lambda path: path.write_bytes(data)})
        block(out, "written", [str(folder / SESSION)])
    block(out, "limits", [_LIMITS])


@contextmanager
def _shown(panel: Panel, port: str) -> Iterator[Callable[[Panel], None]]:
    """Yield a function that draws the board's state; it draws nothing without a terminal."""
    if not sys.stdout.isatty():
        yield lambda panel: None
        return
    with Live(_drawn(panel, port), console=screen(), refresh_per_second=10) as live:
        yield lambda panel: live.update(_drawn(panel, port))


def _drawn(panel: Panel, port: str) -> Table:
    """Return one picture of the board: controls, what the law says, what is truly so."""
    twin = panel.session.twin
    look = twin.look
    drawn = Table(box=None, show_header=False, pad_edge=False, padding=(0, 2, 0, 0))
    for label, text in (
        ("build", f"{twin.build.name}, {twin.now / 1000:.1f} s since power-on, port {port}"),
        ("hand", _hand(panel)),
        ("law", f"{look.mode or _NOT_RUN}, asks for {look.drive_A:.3f} A"),
        ("cause", look.cause or "none"),
        ("diode", f"{look.diode_A:.3f} A, junction {twin.true('junction_degC'):.1f} °C, "
         f"mount {twin.true('mount_degC'):.1f} °C"),
        ("circuit", _circuit(twin)),
        ("pack", f"{twin.true('pack_V'):.2f} V, {twin.true('pack_A'):.2f} A, "
         f"charge {100 * twin.true('soc'):.0f} %"),
        ("lamps", ", ".join(name for name in _LAMPS if twin.level(name)) or "none lit"),
        ("fault", f"{panel.faults[panel.at].id}: {panel.faults[panel.at].happens}"),
        ("keys", "  ".join(f"{key} {does}" for key, does in KEYS.items())),
    ):  # fmt: skip
        drawn.add_row(Text(label, "bold"), Text(text))
    return drawn


def _hand(panel: Panel) -> str:
    on = {True: "on", False: "off"}
    interlock = "closed" if panel.is_on("i") else "open"
    return f"trigger {on[panel.is_on('t')]}, key {on[panel.is_on('k')]}, interlock {interlock}"


def _circuit(twin: Twin) -> str:
    latch = "set" if twin.true("latch") else "clear"
    a = "closed" if twin.true("a_closed") else "open"
    b = "on" if twin.true("b_on") else "off"
    return f"output {twin.true('output_V'):.2f} V, latch {latch}, cut-off A {a}, B {b}"
