"""The simulated board around the firmware: plant, sensors, faults, resets, on one clock.

One tick is one exchange: the levels of the board's pins go to the plant, the plant runs for a
millisecond, and what its sensors say goes back. Nothing depends on the wall clock, but for the
finding that a program runs in circles.

What this does not model: how long the program's own statements take (a tick takes no time), pins
half-way, the bytes' way over USB, and races between a tick and a statement of the main loop: a
tick comes only where the program waits, or where flash is written. Tests run a build of the
firmware in which it comes between statements too.
"""

from collections.abc import Container, Iterable
from functools import partial
from pathlib import Path

import numpy as np

from diodedriver import words
from diodewright.build import Build
from diodewright.derive import plant_values, settings
from diodewright.plant.params import PARAMS, STATE, index_of
from diodewright.sim import Engine, Event, Machine, new_tally, power_up
from diodewright.sim.machine import SUBSTEPS
from diodewright.sim.seam import routed
from diodewright.sim.tally import TALLY
from diodewright.twin.child import Child, Gone, blank_flash, share_core
from diodewright.twin.chip import BOOT_MS, CHIP, CHIP_MIN_V, OUTPUTS, UNIT, Look

__all__ = ["Event", "Twin", "is_target"]

_PARAMS = index_of(PARAMS)
_DUTY_TOP = words.index(words.LIMITS, "duty_top")
_STATE = index_of(STATE)
_PEAK = index_of(TALLY)["peak_current_A"]
_RAIL, _DIODE = _STATE["rail_V"], _STATE["diode_A"]
_TIMER_DEAD, _STARVED, _RAISE, _STRIDE, _DUMP, _POKE, _BREAK, _HEAP = 1, 2, 4, 8, 16, 32, 64, 128
#: The law's arrays, in the order in which the shim keeps them.
_ARRAYS = ("law", "limits", "readings", "raw")
_LENGTHS = (len(words.STATE), 2 * len(words.LIMITS), len(words.READINGS), len(words.RAW))
_TABLES = {"law": words.STATE, "limits": words.LIMITS}
#: What an event may change, by room.
_TARGETS: dict[str, Container[str]] = {
    "plant": _PARAMS,
    "true": _STATE,
    "chip": CHIP,
    **{room: {row[0] for row in table} for room, table in _TABLES.items()},
}
_RESET, _SOFT, _PROMPT = 2, 3, 4
_SOFT_RESET, _POWER_ON, _WATCHDOG = 0, 1, 3


def is_target(target: str) -> bool:
    """Return whether an event may name `target`."""
    room, _, name = target.partition(".")
    return name in _TARGETS.get(room, ())


class Twin:
    """One board with one build, from power-on.

    Parameters
    ----------
    folder : where its flash image lives (`flash.img`; made blank where absent).
    soc : charge of the pack, 0 to 1.
    firmware : folder of another firmware than the installed one.
    chip : the chip's name, from which the firmware chooses its pins.
    own : run what the flash holds, which is nothing on a blank board; no folder of firmware.
    release : the release that MicroPython says it is; "" for its own.

    Raises
    ------
    Absent
        No MicroPython here.
    """

    def __init__(
        self,
        build: Build,
        engine: Engine,
        folder: Path,
        seed: int = 1,
        soc: float = 1.0,
        unit: str = UNIT,
        firmware: Path | None = None,
        chip: str = "RP2040",
        own: bool = False,
        release: str = "",
    ) -> None:
        self.build = build
        self.engine = engine
        self.unit = unit
        self.flash = folder / "flash.img"
        if not self.flash.exists():
            blank_flash(self.flash)
        self._made = partial(Child, firmware=firmware, chip=chip, own=own, release=release)
        self.machine = power_up(engine, plant_values(build), settings(build), {"soc": soc}, seed)
        self._p, self._x = self.machine.p.memory, self.machine.x.memory
        self.tally = new_tally(engine, 0.01)
        self.now = 0
        self.resets: list[tuple[int, int]] = []
        self.ended_at: int | None = None
        self.console = ""
        self.heard = bytearray()
        self._codes = np.zeros(4, dtype=np.int32)
        self._levels = 0
        self._duty = 0.0
        self._flags = 0
        self._stride = 1
        self._mux = {"mux_stuck": 255, "mux_low": 0, "mux_late": 0, "mux_swapped": 0}
        self._watched_ms = 0
        self._silent_ms = 0
        self._law: tuple[int, ...] = (0, 0, 0, 0, 0)
        #: Time that flash has kept from ticks since the last reset [ms].
        self.held_ms = 0
        self._free_bytes = 0
        self._poke = (0, 0, 0)
        self._break = -1
        self._waiting = b""
        self._gone = False
        self._parted: tuple[Machine, list[list[int]]] | None = None
        self.look = Look(0, "", 0.0, None, 0.0)
        self._child: Child | None = None
        self._start(_POWER_ON)

    # resets

    def _start(self, cause: int) -> None:
        self._duty, self._levels = 0.0, 0
        self._flags = 0
        self._silent_ms = self._watched_ms = 0
        self._law = (0, 0, 0, 0, 0)
        self._break = -1
        self._gone = False
        self.ended_at = None
        self._cause = cause
        self._booting_ms = BOOT_MS

    def reset(self, cause: int = _WATCHDOG) -> None:
        """Reset the chip: its pins float low, the program starts anew."""
        self._drop()
        self.resets.append((self.now, cause))
        self._start(cause)

    def _leave(self, message: tuple[int, ...]) -> None:
        """Start the program anew; a soft reset keeps the pins' levels, but for the set PWM's."""
        if message[0] == _RESET:
            self.reset(message[1])
            return
        levels, cause = self._levels, self._cause
        self.reset(_SOFT_RESET)
        self._levels, self._cause, self._booting_ms = levels, cause, 0

    def _awake(self) -> bool:
        """Return whether the chip runs its program, which it starts when its time has come."""
        powered = bool(self.machine.x.flat[_RAIL] >= CHIP_MIN_V)
        if self._child is None:
            self._booting_ms = self._booting_ms - 1 if powered else BOOT_MS
            if self._booting_ms > 0:
                return False
            self._child = self._made(self.flash, self._cause, self.unit, kept=self._levels)
            share_core(self._child.pid)
        elif not powered:
            self.reset(_POWER_ON)
        return powered

    def _drop(self) -> None:
        if self._child is not None:
            self._collect()
            self._child.end()
            self._child = None

    def close(self) -> None:
        """End the program."""
        self._drop()
        share_core(None)

    def __enter__(self) -> "Twin":
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    # time

    def run(self, ticks: int, events: Iterable[Event] = ()) -> list[Look]:
        """Let `ticks` milliseconds pass with `events` (ticks from now); return every tick's look.

        As in the compiled loop an event comes just before the sensors of its tick are read.

        Raises
        ------
        KeyError
            An event names a target that does not exist.
        """
        waiting = sorted(events, key=lambda event: event.tick)
        until = self.now + ticks
        begin = self.now
        looks = []
        while self.now < until:
            due = 0
            while due < len(waiting) and begin + waiting[due].tick <= self.now:
                due += 1
            self._exchange(waiting[:due])
            waiting = waiting[due:]
            looks.append(self.look)
        return looks

    def strike(self, event: Event) -> None:
        """Let one event happen now; KeyError where there is no such target."""
        if not is_target(event.target):
            raise KeyError(f"event target {event.target!r}: no such word")
        room, _, name = event.target.partition(".")
        if room == "plant":
            self.machine.p.flat[_PARAMS[name]] = event.value
            self.engine.prepare(self._p, 1e-3 / SUBSTEPS)
        elif room == "true":
            self.machine.x.flat[_STATE[name]] = event.value
        elif room == "chip":
            self._befall(name, int(event.value))
        else:
            self._flags |= _POKE
            self._poke = (_ARRAYS.index(room), words.index(_TABLES[room], name), int(event.value))

    def _befall(self, name: str, value: int) -> None:
        if name == "reset":
            self.reset(value)
        elif name in self._mux:
            self._mux[name] = value
        elif name == "stride":
            self._stride = value
        else:
            bit = {"timer_dead": _TIMER_DEAD, "main_starved": _STARVED, "raise": _RAISE}[name]
            self._flags = self._flags | bit if value else self._flags & ~bit

    def _plant_tick(self, duty: float, levels: int) -> None:
        mode, _, cause, bound, faults = self._law
        self.engine.run_board_tick(
            self._p,
            self._x,
            self.tally.memory,
            duty,
            levels,
            self._levels,
            max(mode - 1, 0),
            bound,
            faults,
            cause,
            SUBSTEPS,
            1e-3 / SUBSTEPS,
        )
        self._levels = levels
        self.now += 1

    def _exchange(self, events: Iterable[Event] = ()) -> None:
        """Take what the program puts out, run the plant, tell it what its pins read."""
        message = self._next_message() if self._awake() else None
        if message is not None and message[0] in (_RESET, _SOFT):
            self._leave(message)
            return
        if message is None:
            self._plant_tick(self._duty, self._levels)
        else:
            top = int(self.machine.limits[_DUTY_TOP])
            # the chip's PWM counts to the top; duty_u16 is rounded to the nearest of its counts
            self._duty = ((message[1] * top + 32767) // 65535) / top
            self._watched_ms = message[4]
            self._law = message[5:10]
            self._break = message[10]
            self.held_ms, self._free_bytes = message[11:13]
            if message[0] == _PROMPT and self.ended_at is None:
                self.ended_at = self.now
            self._plant_tick(self._duty, message[2])
        child = self._child
        for event in events:
            self.strike(event)
        self.look = self._looked()
        if message is not None and child is self._child and child is not None:
            self._answer(child, message[3])

    def _answer(self, child: Child, channel: int) -> None:
        """Tell the program what its pins read; copy all where a parting was asked for."""
        channel = routed(channel, *self._mux.values())
        machine = self.machine
        copy = machine.copy() if self._flags & _DUMP else None
        self._read(channel)
        flags = self._flags | (_STRIDE | self._stride << 8 if self._stride > 1 else 0)
        self._flags &= ~(_RAISE | _DUMP | _POKE | _BREAK | _HEAP)
        # only now does it wait: bytes that came sooner would meet this tick or the last, by chance
        if self._waiting:
            child.send(self._waiting)
            self._waiting = b""
        child.answer((*(int(code) for code in self._codes), flags, *self._poke))
        if copy is not None:
            self._parted = copy, [child.words(count) for count in _LENGTHS]

    def _read(self, channel: int) -> None:
        """Put into `_codes` what the pins read, the multiplexer at `channel`."""
        self.engine.read_pins(self._p, self._x, channel, self._codes)

    def part(self) -> tuple[Machine, list[list[int]]]:
        """Let one tick pass; return the plant just before it, and the law's arrays there.

        Raises
        ------
        RuntimeError
            The law does not run.
        """
        if not self.look.mode:
            raise RuntimeError("the law does not run: nothing to branch from")
        self._ask_words()
        self._exchange()
        if self._parted is None:
            raise RuntimeError("the program gave no answer")
        parted, self._parted = self._parted, None
        return parted

    def free_bytes(self) -> int:
        """Let two ticks pass; return what is free of the program's heap, garbage collected first.

        The program itself has no part in that; its heap here has words of 64 bits.
        """
        self._flags |= _HEAP
        self.run(2)
        return self._free_bytes

    def _ask_words(self) -> None:
        """Have the next exchange keep, in `_parted`, the plant and the law's words."""
        self._flags |= _DUMP

    def _next_message(self) -> tuple[int, ...] | None:
        """Return the program's message; None where it hangs or has ended (pins as they are)."""
        if self._child is None or self._gone:
            message = None
        else:
            try:
                message = self._child.hear()
            except Gone:
                self._gone = True
                self._collect()
                message = None
        if message is not None:
            # before the answer: what it says from there on belongs to the next tick
            self._collect()
            self._silent_ms = 0
            return message
        self._silent_ms += 1
        if self._watched_ms and self._silent_ms > self._watched_ms:
            self.reset(_WATCHDOG)
        return None

    def _looked(self) -> Look:
        mode, drive, cause = self._law[:3]
        return Look(
            self.now,
            words.MODES[mode - 1][0] if mode else "",
            drive / 64000,
            words.FAULTS[cause - 1][0] if cause else None,
            float(self.machine.x.flat[_DIODE]),
        )

    # what one may ask

    def true(self, name: str) -> float:
        """Return one true state of the plant by name."""
        return self.machine.true(name)

    def peak_A(self) -> float:
        """Return the highest true diode current so far [A], edges included."""
        return float(self.tally.flat[_PEAK])

    def given(self, name: str) -> float:
        """Return one parameter of the plant by name: what part it has, how its controls stand."""
        return float(self.machine.p.flat[_PARAMS[name]])

    def level(self, name: str) -> int:
        """Return the level of one of the board's outputs, of `OUTPUTS`."""
        return self._levels >> OUTPUTS.index(name) & 1

    def send(self, data: bytes) -> None:
        """Give bytes to the board's serial port; the next tick sees them.

        As on the chip, the character that interrupts is taken out on arrival. What comes while
        the chip boots waits, as a port that is not there yet makes a client wait.
        """
        if self._break >= 0 and bytes([self._break]) in data:
            data = data.replace(bytes([self._break]), b"")
            self._flags |= _BREAK
        self._waiting += data

    def said(self) -> bytes:
        """Return what the board has said over serial since the last call."""
        said, self.heard = bytes(self.heard), bytearray()
        return said

    def _collect(self) -> None:
        if self._child is not None:
            self.heard += self._child.said()
            self.console += self._child.complaint()
