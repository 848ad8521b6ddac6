"""The board's `machine`, of the twin: pins, converter and clocks are the plant's, in lockstep.

One exchange a millisecond: out go the levels of the pins, back come codes and inputs; where the
host asks for it, the law's own words as well, or one of them is overwritten. Time passes
only here: in `idle`, while flash is erased or programmed, and where a test's own build
of the firmware calls `_interrupt`. The timer's callback runs at the end of each millisecond that
interrupts were on, with the heap locked, as in an interrupt. While a program keeps interrupts off
the heap is locked as well: what allocates may collect garbage first, for tens of milliseconds.
"""

import gc
from array import array

import micropython
from disk import PROGRAM, Image

PWRON_RESET = 1
WDT_RESET = 3
# kinds of message to the host
TICK = 1
RESET = 2
SOFT = 3
PROMPT = 4

_OUT = array("i", [0] * 13)
_IN = array("i", [0] * 8)
_pipe_out = None
_pipe_in = None
_levels = {}
_duty = 0
_now_ms = 0
_wdt_ms = 0
_fed_ms = 0
_timer = None
_cause = PWRON_RESET
_unit = b"\x00" * 8
_since = 0
_names = {}
# pins that a converter lies on: of the larger package, for the newer chip
_converters = range(26, 30)
# whether interrupts are off, a tick waits for them, and the timer's callback runs
_off = 0
_held = False
_ticking = False
# Ctrl-C came while flash was written
_broken = False
# called where a timer starts: who watches the law finds it loaded then
_timer_starts = None
# TICK, or PROMPT once the program has ended
_kind = TICK
# the character that interrupts the program, -1: none
_break = 3
# state, limits, readings, raw: the law's arrays, once it has been stepped
_law = [None, None, None, None]

# what the host may ask for in a reply
TIMER_DEAD = 1
MAIN_STARVED = 2
RAISE = 4
STRIDE = 8
DUMP = 16
POKE = 32
BREAK = 64
HEAP = 128


class Injected(Exception):
    """An exception that the host asked for, to see how the program ends."""


def _begin(pipe_in, pipe_out, cause, unit, chip, table, kept):
    """Join the host; `table` is the pin table in use, `kept` the outputs' levels from before."""
    global _pipe_in, _pipe_out, _cause, _unit, _converters
    _pipe_in, _pipe_out, _cause, _unit = pipe_in, pipe_out, cause, unit
    _converters = range(40, 48) if "RP2350" in chip else range(26, 30)
    for name in table:
        _names[table[name]] = name
    for place, name in enumerate(_OUTPUTS):
        _levels[name] = kept >> place & 1
    _exchange()


def _bits(names):
    bits = 0
    for place, name in enumerate(names):
        if _levels.get(name):
            bits |= 1 << place
    return bits


_OUTPUTS = ("enable_b", "pulse", "trickle", "inject", "reset", "indicator", "warn", "blink")


def _exchange():
    global _now_ms
    _OUT[0] = _kind
    _OUT[1] = _duty
    _OUT[2] = _bits(_OUTPUTS)
    _OUT[3] = _bits(("mux_0", "mux_1", "mux_2"))
    _OUT[4] = _wdt_ms
    _OUT[10] = _break
    _pipe_out.write(_OUT)
    if _pipe_in.readinto(_IN) != 32:
        raise SystemExit
    _now_ms += 1
    if _IN[4] & HEAP:
        gc.collect()
        _OUT[12] = gc.mem_free()
    if _IN[4] & (DUMP | POKE) and _law[0] is not None:
        _open_up(_IN[4])


def _open_up(flags):
    """Let the host see the law's words, or change one of them as a flipped bit would."""
    if flags & POKE:
        _law[_IN[5]][_IN[6]] = _IN[7]
    if flags & DUMP:
        for words in _law:
            _pipe_out.write(words)


def _keep_break(character):
    """Let `character` interrupt the program, -1 for none: `micropython.kbd_intr`."""
    global _break
    _break = character


def _leave(kind, cause=0):
    """Reset: tell the host, which ends this process; nothing here runs on, no `finally`.

    `kind` is RESET with the chip's `cause`, or SOFT, where pins keep their levels.
    """
    _OUT[0] = kind
    _OUT[1] = cause
    _pipe_out.write(_OUT)
    while True:
        _pipe_in.readinto(_IN)


def _pass(interrupts):
    """Let one millisecond pass; `interrupts` off holds the tick back, and Ctrl-C with it."""
    global _since, _broken
    _exchange()
    if _wdt_ms and _now_ms - _fed_ms > _wdt_ms:
        _leave(RESET, WDT_RESET)
    _since += 1
    if interrupts:
        _fire()
    if _IN[4] & BREAK:
        _broken = True
    if _broken and interrupts:
        _broken = False
        raise KeyboardInterrupt


def _interrupt():
    """Let a millisecond pass between two statements; not while nothing may interrupt."""
    if not _off and not _ticking:
        idle()


def _fire():
    global _since, _held, _ticking
    if _off:
        _held = True
        return
    _held = False
    flags = _IN[4]
    stride = flags >> 8 if flags & STRIDE else 1
    if _timer is None or flags & TIMER_DEAD or _since < stride:
        return
    _since = 0
    _ticking = True
    micropython.heap_lock()
    try:
        _timer(None)
    finally:
        micropython.heap_unlock()
        _ticking = False


def _busy(ms):
    """Hold interrupts off for `ms`, as flash does; the tick that waited comes at the end."""
    for passed in range(ms):
        if passed and _timer is not None:
            _OUT[11] += 1  # as it passes: the host may look in the midst of a write
        _pass(False)
    _fire()


def idle():
    _pass(True)
    while _IN[4] & MAIN_STARVED:
        _pass(True)
    if _IN[4] & RAISE:
        raise Injected("asked for by the host")


def disable_irq():
    global _off
    before = _off
    _off = 1
    if not before:
        micropython.heap_lock()
    return before


def enable_irq(before):
    global _off
    if _off and not before:
        micropython.heap_unlock()
    _off = before
    if _held:
        _fire()


def reset():
    _leave(RESET, WDT_RESET)


def reset_cause():
    return _cause


def unique_id():
    return _unit


class Pin:
    IN = 0
    OUT = 1
    PULL_UP = 1
    PULL_DOWN = 2

    def __init__(self, number, mode=IN, pull=0, value=None):
        self.number = number
        self.name = _names.get(number, "pin")
        if mode == self.OUT and value is not None:
            _levels[self.name] = value
        self.bit = 1 << ("trigger", "key", "interlock", "latch", self.name).index(self.name)

    def value(self, level=None):
        if level is None:
            return 1 if _IN[3] & self.bit else 0
        _levels[self.name] = level
        return None


class PWM:
    def __init__(self, pin, freq=0, duty_u16=0):
        self.duty_u16(duty_u16)

    def duty_u16(self, duty):
        global _duty
        _duty = duty


class ADC:
    def __init__(self, pin):
        if pin.number not in _converters:
            raise ValueError("no converter on this pin")
        self.place = ("current", "output", "mux").index(pin.name)

    def read_u16(self):
        code = _IN[self.place]
        return code << 4 | code >> 8


class Timer:
    def __init__(self, number, freq=0, hard=False, callback=None):
        global _timer
        if freq != 1000 or not hard:
            raise ValueError("a hard timer at 1000 Hz")
        if _timer_starts is not None:
            _timer_starts()
        _timer = callback

    def deinit(self):
        global _timer
        _timer = None


class WDT:
    def __init__(self, timeout):
        global _wdt_ms
        if timeout > 8388:
            raise ValueError("timeout exceeds 8388")
        _wdt_ms = timeout
        self.feed()

    def feed(self):
        global _fed_ms
        _fed_ms = _now_ms


class Flash(Image):
    """The flash with its time: 45 ms to erase a block, 1 ms to program a page, interrupts off."""

    def writeblocks(self, block, buffer, offset=0):
        _busy(1 + len(buffer) // PROGRAM)
        Image.writeblocks(self, block, buffer, offset)

    def ioctl(self, op, block):
        if op != 6:
            return Image.ioctl(self, op, block)
        _busy(45)
        self.erase(block)
        return 0
