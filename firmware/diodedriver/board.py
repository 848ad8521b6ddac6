"""The board: pins, converter, PWM, timer, watchdog, serial bytes. The only file that knows them.

What a tick calls (`convert`, `put`, `dark`, `pass_pulse`) allocates nothing and raises nothing.
"""

import select
import sys
import time

import machine
import micropython

from diodedriver.pins import BOARDS, INPUTS, OUTPUTS

SET_HZ = 100_000
MUX_CHANNELS = 5
# bits of the law's word "enable", see words.ENABLES
ON_B = 2
ON_INDICATOR = 4
ON_RESET = 8
ON_WARN = 16
# bits of the law's reading "pins", see words.PINS
PIN_TRIGGER = 1
PIN_KEY = 2
PIN_INTERLOCK = 4
PIN_LATCH = 8

MYPY = False
if MYPY:
    from array import array
    from collections.abc import Callable
    from typing import Any

    from _mpy_shed.time_mp import _TicksMs

CAUSES = ("power on", "watchdog", "soft reset", "unknown")


def kind() -> str:
    """Return which pin table this board needs; the newer chip says so in its name."""
    return "rp2350" if "RP2350" in sys.implementation._machine else "rp2040"


def all_dark() -> None:
    """Drive every output low and stop the set PWM: for boot.py, before anything else runs."""
    table = BOARDS[kind()]
    for name in OUTPUTS:
        machine.Pin(table[name], machine.Pin.OUT, value=0)
    machine.Pin(table["set"], machine.Pin.OUT, value=0)


class Board:
    """The board with its outputs dark; makes them so before it does anything else."""

    # one pin each, by the names of the pin table
    enable_b: machine.Pin
    pulse: machine.Pin
    trickle: machine.Pin
    inject: machine.Pin
    reset: machine.Pin
    indicator: machine.Pin
    warn: machine.Pin
    blink: machine.Pin
    mux_0: machine.Pin
    mux_1: machine.Pin
    mux_2: machine.Pin
    trigger: machine.Pin
    key: machine.Pin
    interlock: machine.Pin
    latch: machine.Pin

    def __init__(self, table: "dict[str, int] | None" = None) -> None:
        table = table or BOARDS[kind()]
        for name in OUTPUTS:
            setattr(self, name, machine.Pin(table[name], machine.Pin.OUT, value=0))
        self.set = machine.PWM(machine.Pin(table["set"]), freq=SET_HZ, duty_u16=0)
        for name in INPUTS:
            pull = machine.Pin.PULL_UP if name == "latch" else machine.Pin.PULL_DOWN
            setattr(self, name, machine.Pin(table[name], machine.Pin.IN, pull))
        self.current = machine.ADC(machine.Pin(table["current"]))
        self.output = machine.ADC(machine.Pin(table["output"]))
        self.mux = machine.ADC(machine.Pin(table["mux"]))
        self.channel = 0
        self.before_us = time.ticks_us()
        self.timer: machine.Timer | None = None
        self.watchdog: machine.WDT | None = None
        self.poller = select.poll()
        self.poller.register(sys.stdin, select.POLLIN)
        self.ready_out = select.poll()
        self.ready_out.register(sys.stdout, select.POLLOUT)
        self.one = bytearray(1)

    # what a tick calls

    def convert(self, raw: "array[int]") -> int:
        """Read both direct channels, the multiplexed one, the pins and the clock into `raw`.

        The multiplexer's address is moved on behind its conversion: it has a period to settle.
        """
        raw[0] = self.current.read_u16() >> 4
        raw[1] = self.output.read_u16() >> 4
        raw[2] = self.mux.read_u16() >> 4
        raw[3] = self.channel
        self.select(self.channel + 1 if self.channel + 1 < MUX_CHANNELS else 0)
        pins = 0
        if self.trigger.value():
            pins = PIN_TRIGGER
        if self.key.value():
            pins |= PIN_KEY
        if self.interlock.value():
            pins |= PIN_INTERLOCK
        if self.latch.value():
            pins |= PIN_LATCH
        raw[4] = pins
        now_us = time.ticks_us()
        gap = (time.ticks_diff(now_us, self.before_us) + 500) // 1000
        self.before_us = now_us
        raw[5] = 65535 if gap > 65535 or gap < 0 else gap
        return pins

    def select(self, channel: int) -> None:
        """Set the multiplexer's address."""
        self.channel = channel
        self.mux_0.value(channel & 1)
        self.mux_1.value((channel >> 1) & 1)
        self.mux_2.value(channel >> 2)

    def put(self, duty_u16: int, enable: int, pulse: int) -> None:
        """Give a tick's result to the pins; the dynamic enable last, once all else is set."""
        self.set.duty_u16(duty_u16)
        self.enable_b.value(1 if enable & ON_B else 0)
        self.indicator.value(1 if enable & ON_INDICATOR else 0)
        self.reset.value(1 if enable & ON_RESET else 0)
        self.warn.value(1 if enable & ON_WARN else 0)
        self.pulse.value(pulse)

    def put_test(self, trickle: int, inject: int) -> None:
        """Set the self-test's own outputs."""
        self.trickle.value(trickle)
        self.inject.value(inject)

    def dark(self) -> None:
        """Take every output off that could make light; the dynamic enable stops where it is."""
        self.enable_b.value(0)
        self.set.duty_u16(0)
        self.trickle.value(0)
        self.inject.value(0)
        self.reset.value(0)
        self.indicator.value(0)

    # what the main loop calls

    def start_ticks(self, callback: "Callable[[Any], None]") -> None:
        """Call `callback` a thousand times a second, in the timer's own interrupt."""
        self.before_us = time.ticks_us()
        self.timer = machine.Timer(-1, freq=1000, hard=True, callback=callback)

    def stop_ticks(self) -> None:
        """Stop the timer for good."""
        if self.timer is not None:
            self.timer.deinit()
            self.timer = None

    def watch(self, timeout_ms: int) -> None:
        """Arm the watchdog; nothing but a reset disarms it."""
        self.watchdog = machine.WDT(timeout=timeout_ms)

    def feed(self) -> None:
        """Feed the watchdog, where one is armed."""
        if self.watchdog is not None:
            self.watchdog.feed()

    def quiet(self) -> int:
        """Keep interrupts off until `loud` is given what this returns."""
        return machine.disable_irq()

    def loud(self, before: int) -> None:
        """Let interrupts in again."""
        machine.enable_irq(before)

    def idle(self) -> None:
        """Wait for the next interrupt."""
        machine.idle()

    def millis(self) -> "_TicksMs":
        """Return a clock that wraps [ms]; differences by `since`."""
        return time.ticks_ms()

    def since(self, then_ms: "_TicksMs") -> int:
        """Return the time since `then_ms` [ms]."""
        return time.ticks_diff(time.ticks_ms(), then_ms)

    def hear(self, buffer: bytearray) -> int:
        """Take what serial bytes there are into `buffer`, at most all of it; return how many."""
        taken = 0
        while taken < len(buffer) and self.poller.poll(0):
            if not sys.stdin.buffer.readinto(self.one):
                break
            buffer[taken] = self.one[0]
            taken += 1
        return taken

    def say(self, text: "bytes | bytearray | memoryview") -> bool:
        """Write a short piece where it can be written without waiting; return whether it was.

        A terminal that does not listen must not stop the main loop, hence its heartbeat.
        """
        if not self.ready_out.poll(0):
            return False
        sys.stdout.buffer.write(text)
        return True

    def keep_break(self, on: bool) -> None:
        """Let Ctrl-C interrupt the program (in maintenance only), or not."""
        micropython.kbd_intr(3 if on else -1)

    def unit(self) -> str:
        """Return this chip's own number, hexadecimal."""
        return "".join(f"{byte:02x}" for byte in machine.unique_id())

    def reset_cause(self) -> str:
        """Return why the program starts, as the chip tells it."""
        cause = machine.reset_cause()
        if cause == machine.PWRON_RESET:
            return CAUSES[0]
        return CAUSES[1] if cause == machine.WDT_RESET else CAUSES[3]

    def restart(self) -> None:
        """Reset the chip."""
        machine.reset()
