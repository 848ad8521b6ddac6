"""The self-test: proves cut-offs, comparators, sensors and the diode's presence without light.

One step a row of `STEPS`, advanced by the timer's tick, so that the dynamic enable is an edge of
completed ticks here too. A step ends as soon as what it waits for is so; where that does not come
within its time, the test has failed, and names the step. In every tick of every step a diode
current that no trickle gives ends it at once. The over-voltage comparator is proven only while the
pack stands above its trip, which the pack of a linear stage need not.

The trickle is 2 mA, clamped below the over-voltage trip: far below a laser's threshold; an LED
glows faintly. The output is emptied before A closes, and stays empty until the dynamic enable has
had its time to close it: a charged one would empty through the diode.
"""

from array import array

from diodedriver import words
from diodedriver.law import convert

MYPY = False
if MYPY:
    from diodedriver.board import Board

_R_CURRENT = words.index(words.READINGS, "current_mA")
_R_OUTPUT = words.index(words.READINGS, "output_mV")
_R_PACK = words.index(words.READINGS, "pack_mV")
_R_REFERENCE = words.index(words.READINGS, "reference_mV")
_R_INDICATOR = words.index(words.READINGS, "indicator_uA")
_R_MOUNT = words.index(words.READINGS, "mount_cK")
_R_SINK = words.index(words.READINGS, "sink_cK")
_R_AGE = words.index(words.READINGS, "pack_age")
_L_SAFE = words.index(words.SETTINGS, "safe_mV")
_L_OPEN = words.index(words.SETTINGS, "open_mV")
_L_SHORT = words.index(words.SETTINGS, "short_mV")
_L_DARK = words.index(words.SETTINGS, "dark_mA")
_L_CLOSE = words.index(words.SETTINGS, "close_ticks")
_L_STAGE = words.index(words.SETTINGS, "stage_ticks")
_L_START = words.index(words.SETTINGS, "start_mA")
_L_DUTY_FULL = words.index(words.SETTINGS, "duty_full_mA")
_L_AGES = words.index(words.SETTINGS, "age_ticks")
_L_PACK_MAX = words.index(words.SETTINGS, "pack_max_mV")
_L_REFERENCE = words.index(words.SETTINGS, "reference_min_mV")
_L_SENSOR = words.index(words.SETTINGS, "sensor_min_cK")
_L_INDICATOR = words.index(words.SETTINGS, "indicator_min_uA")

_TRIGGER = 1
_KEY = 2
_INTERLOCK = 4
_LATCH = 8
_CHANNELS = 5
_FULL_U16 = 65535
_TRICKLE_MA = 2
# `open_mV` lies 100 mV below the over-voltage trip; as much again for both tolerances
_TRIP_MV = 200
# how long a comparator, a cut-off and the dynamic enable may take, each with its logic [ticks]
_EDGE = 5
_SETTLE = 40
_FOREVER = 1 << 29

# what a step puts out
PULSES = 1
STAGE = 2
INDICATOR = 4
RESET = 8
TRICKLE = 16
INJECT = 32
SET = 64

# (name, outputs, what ends it, longest [ticks]; 0: see `Test.longest`, what a failure points to)
STEPS = (
    ("dark", 0, "readings", 0, "a sensor, the reference, the pack, or current while dark"),
    ("lamp off", 0, "lamp_off", 20, "the emission indicator is lit while off"),
    ("lamp", INDICATOR, "lamp_on", 20, "the emission indicator"),
    ("ready", 0, "ready", _FOREVER, "key off, interlock open or trigger held"),
    ("trip", INJECT, "latched", _EDGE, "the over-current comparator or the latch"),
    ("empty", 0, "empty", 0, "the bleeder, or a stage stuck on"),
    ("reset", RESET, "clear", _EDGE, "the latch's reset, or a comparator stuck"),
    ("stage off", SET, "stays", _SETTLE, "cut-off B: the stage runs while disabled"),
    ("a open", TRICKLE, "high", _SETTLE, "cut-off A shorted, a shorted output, or the trickle"),
    ("emptied", 0, "empty", 0, "the bleeder"),
    ("a closing", PULSES, "stays", _SETTLE, "the bleeder, or a stage stuck on"),
    (
        "diode",
        TRICKLE | PULSES,
        "knee",
        _SETTLE,
        "cut-off A, or the diode: open, shorted, reversed",
    ),
    ("enable", TRICKLE, "high", _SETTLE, "the dynamic enable does not drop"),
    ("drained", 0, "empty", 0, "the bleeder"),
    (
        "open load",
        SET | STAGE,
        "risen",
        0,
        "the stage, its enable, or the over-voltage comparator",
    ),
    ("decay", 0, "empty", 0, "the bleeder"),
    ("again", RESET, "clear", _EDGE, "the latch's reset"),
    ("trip again", INJECT, "latched", _EDGE, "the over-current comparator or the latch"),
)


class Test:
    """One self-test over one board and its limits; `step` is called by the tick."""

    def __init__(self, board: "Board", limits: "array[int]") -> None:
        self.board = board
        self.limits = limits
        self.readings = array("i", [0] * len(words.READINGS))
        self.at = 0
        self.spent = 0
        self.pulse = 0
        self.done = False
        self.failed = 0
        self.knee_mV = -1
        self.pins = 0  # set here: a new name in the tick could ask for memory
        self.ends = [getattr(self, "_" + row[2]) for row in STEPS]
        close = limits[_L_CLOSE]
        stage = limits[_L_STAGE] + _SETTLE
        unstated = {"readings": limits[_L_AGES] + _SETTLE, "empty": close, "risen": stage}
        self.longest = [row[3] or unstated[row[2]] for row in STEPS]
        start = limits[_L_START] * _FULL_U16 // limits[_L_DUTY_FULL]
        self.duty_u16 = min(start, _FULL_U16)

    def step(self, raw: "array[int]") -> None:
        """Judge the step that runs on this tick's codes, and put out what comes next."""
        board = self.board
        if self.done:
            board.dark()
            return
        convert(self.limits, self.readings, raw)
        self.pins = raw[4]
        if self.readings[_R_CURRENT] > self.limits[_L_DARK] + _TRICKLE_MA:
            self._fail()
            return
        self.spent += 1
        if self.spent > 1 and self.ends[self.at]():
            self.spent = 0
            self.at += 1
            if self.at == len(STEPS):
                self.done = True
                board.dark()
                return
        elif self.spent > self.longest[self.at]:
            self._fail()
            return
        out = STEPS[self.at][1]
        if out & PULSES:
            self.pulse = 1 - self.pulse
        board.put(self.duty_u16 if out & SET else 0, out & (STAGE | INDICATOR | RESET), self.pulse)
        board.put_test(1 if out & TRICKLE else 0, 1 if out & INJECT else 0)

    def _fail(self) -> None:
        self.failed = self.at + 1
        self.done = True
        self.board.dark()

    # what ends a step

    def _readings(self) -> bool:
        read = self.readings
        limits = self.limits
        if self.spent <= 2 * _CHANNELS:
            return False
        for channel in range(_CHANNELS):
            if read[_R_AGE + channel] > limits[_L_AGES]:
                return False
        return (
            limits[_L_REFERENCE] <= read[_R_REFERENCE] <= limits[_L_REFERENCE + 1]
            and limits[_L_SENSOR] <= read[_R_MOUNT] <= limits[_L_SENSOR + 1]
            and limits[_L_SENSOR] <= read[_R_SINK] <= limits[_L_SENSOR + 1]
            and read[_R_PACK] <= limits[_L_PACK_MAX]
        )

    def _lamp_off(self) -> bool:
        least = self.limits[_L_INDICATOR]
        return least == 0 or (self.spent > 2 * _CHANNELS and self.readings[_R_INDICATOR] < least)

    def _lamp_on(self) -> bool:
        least = self.limits[_L_INDICATOR]
        most = self.limits[_L_INDICATOR + 1]
        if least == 0:
            return True
        return self.spent > 2 * _CHANNELS and least <= self.readings[_R_INDICATOR] <= most

    def _ready(self) -> bool:
        return self.pins & (_TRIGGER | _KEY | _INTERLOCK) == _KEY | _INTERLOCK

    def _latched(self) -> bool:
        return self.pins & _LATCH != 0

    def _risen(self) -> bool:
        if self._latched():
            return True
        # No stage here lifts its output above the pack. One that stands below the trip can't reach
        # it: then the stage has to bring the output up to the pack, and the trip stays unproven.
        pack = self.readings[_R_PACK]
        if self.spent < self.longest[self.at] or pack > self.limits[_L_OPEN] + _TRIP_MV:
            return False
        return self.readings[_R_OUTPUT] >= pack * 9 // 10

    def _clear(self) -> bool:
        return self.pins & _LATCH == 0

    def _empty(self) -> bool:
        return self.readings[_R_OUTPUT] <= self.limits[_L_SAFE]

    def _high(self) -> bool:
        return self.readings[_R_OUTPUT] > self._knee_top() and not self.pins & _LATCH

    def _knee(self) -> bool:
        # at the step's end only: on its way up to the clamp an open path passes the knee too
        if self.spent < _SETTLE:
            return False
        self.knee_mV = self.readings[_R_OUTPUT]
        return self.limits[_L_SHORT] <= self.knee_mV <= self._knee_top()

    def _stays(self) -> bool:
        if self.readings[_R_OUTPUT] > self.limits[_L_SAFE] or self.pins & _LATCH:
            self.spent = _FOREVER
            return False
        return self.spent >= _SETTLE

    def _knee_top(self) -> int:
        # no diode at 2 mA stands as high; the trickle's clamp does
        return self.limits[_L_OPEN] * 9 // 10
