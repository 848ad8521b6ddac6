"""A desk for the law alone: raw codes by hand, no plant. Healthy unless told otherwise.

Plain enough to load in MicroPython as well.
"""

from array import array

from diodedriver import law, words

SETTINGS = {
    "current_full_mA": 3000,
    "current_zero_code": 0,
    "output_full_mV": 10000,
    "pack_full_mV": 12000,
    "reference_full_mV": 3000,
    "indicator_full_uA": 15000,
    "duty_full_mA": 1650,
    "duty_top": 1250,
    "level_0_mA": 1500,
    "level_1_mA": 750,
    "level_2_mA": 300,
    "level_3_mA": 300,
    "top_mA": 1575,
    "absolute_mA": 1575,
    "start_mA": 100,
    "ramp_ticks": 500,
    "rise_q64": 270,
    "fall_q64": 5040,
    "delay_ticks": 100,
    "stage_ticks": 8,
    "gate_mA": 0,
    "safe_mV": 1500,
    "close_ticks": 500,
    "auto_off_ticks": 60000,
    "authority_mA": 75,
    "trim_shift": 6,
    "dim_mA": 300,
    "warm_cK": 31915,
    "hot_cK": 32915,
    "trip_cK": 33315,
    "lead_x16": 10,
    "lead_shift": 13,
    "junction_cK_W": 700,
    "junction_shift": 4,
    "junction_warm_cK": 37815,
    "junction_hot_cK": 38815,
    "junction_trip_cK": 39315,
    "mount_cK_W": 120,
    "model_shift": 14,
    "model_min_cK": 450,
    "model_extra_cK": 500,
    "budget_cap": 1_700_000,
    "budget_leak_s": 351,
    "sustain_mA": 1000,
    "sag_mohm": 110,
    "pack_shift": 8,
    "cutback_mV": 6900,
    "cutback_end_mV": 6500,
    "reserve_mA": 300,
    "lockout_mV": 6500,
    "loaded_min_mV": 6000,
    "rearm_mV": 7300,
    "rest_ticks": 5000,
    "headroom_mV": 300,
    "pack_max_mV": 8650,
    "warn_mV": 7000,
    "overcurrent_mA": 1627,
    "dark_mA": 31,
    "short_mV": 2100,
    "open_mV": 5400,
    "follow_mA": 40,
    "sensor_min_cK": 25815,
    "sensor_max_cK": 39315,
    "reference_min_mV": 1200,
    "reference_max_mV": 1300,
    "indicator_min_uA": 2500,
    "indicator_max_uA": 8000,
    "interlock_fitted": 1,
    "age_ticks": 20,
    "late_ticks": 2,
    "beat_max_ticks": 200,
}
COUNTS = {
    "overcurrent": 3,
    "stuck": 10,
    "short": 3,
    "open": 3,
    "follow": 25,
    "hot": 20,
    "junction": 5,
    "heat": 200,
    "sensor": 15,
    "stale": 5,
    "indicator": 30,
    "pack_wrong": 50,
    "pack_min": 100,
    "pack_low": 500,
}
SETTINGS |= {"count_" + row[0]: COUNTS.get(row[0], 1) for row in words.FAULTS}
# A straight line of 5 K a point, so that a temperature has an exact code.
SETTINGS |= {f"ntc_{i}_cK": 42315 - 500 * i for i in range(words.NTC_POINTS)}

PLACES = tuple(
    {row[0]: place for place, row in enumerate(table)}
    for table in (words.STATE, words.LIMITS, words.READINGS)
)
CHANNELS = ("pack_mV", "reference_mV", "indicator_uA", "mount_cK", "sink_cK")


class Desk:
    """The law with its arrays; `true` holds what the sensors would be asked for."""

    def __init__(self, law_tick=law.tick, ints=lambda v: array("i", v), **changes) -> None:
        settings = dict(SETTINGS)
        settings.update(changes)
        self.law_tick = law_tick
        self.limits = ints(words.assemble(settings))
        self.state = ints(words.first_state())
        self.readings = ints([0] * len(words.READINGS))
        self.raw = ints([0] * len(words.RAW))
        self.true = {
            "pack_mV": 8000,
            "reference_mV": 1250,
            "mount_cK": 30315,
            "sink_cK": 30315,
            "level": 0,
            "gap_ticks": 1,
            "beat_ticks": 0,
        }
        self.pins = {"key", "interlock"}
        self.dead_lamp = False
        self.follows = True
        self.forced = {}
        self.skipped = set()
        self.channel = 0

    def word(self, name: str) -> int:
        return self.state[PLACES[0][name]]

    def limit(self, name: str) -> int:
        return self.limits[PLACES[1][name]]

    def reading(self, name: str) -> int:
        return self.readings[PLACES[2][name]]

    @property
    def mode(self) -> str:
        return words.MODES[self.word("mode")][0]

    @property
    def cause(self) -> str | None:
        row = self.word("cause")
        return words.FAULTS[row - 1][0] if row else None

    def faults(self) -> set[str]:
        return {row[0] for i, row in enumerate(words.FAULTS) if self.word("faults") >> i & 1}

    @property
    def drive_mA(self) -> float:
        return self.word("drive") / 64

    def _code(self, value: int, full: int) -> int:
        return min(4095, max(0, round(value * 4096 / full)))

    def _mux_code(self, name: str) -> int:
        if name == "indicator_uA":
            lit = bool(self.word("enable") & 4) and not self.dead_lamp
            value = self.forced.get(name, 5000 if lit else 0)
            return self._code(value, self.limit("indicator_full_uA"))
        value = self.true[name]
        if name.endswith("_cK"):
            return min(4095, max(0, round((42315 - value) * 128 / 500)))
        return self._code(value, self.limit(name[:-3] + "_full_mV"))

    def tick(self, ticks: int = 1) -> "Desk":
        for _ in range(ticks):
            lit = self.follows and 5 <= self.word("mode") <= 7
            current = round(self.drive_mA) if lit else 0
            output = 3700 + current * 2 // 3 if lit else 0
            name = CHANNELS[self.channel]
            self.raw[0] = self._code(
                self.forced.get("current_mA", current), self.limit("current_full_mA")
            )
            self.raw[1] = self._code(
                self.forced.get("output_mV", output), self.limit("output_full_mV")
            )
            self.raw[2] = self._mux_code(name)
            self.raw[3] = 255 if name in self.skipped else self.channel
            self.raw[4] = sum(1 << i for i, pin in enumerate(words.PINS) if pin in self.pins)
            self.raw[5] = self.true["gap_ticks"]
            self.raw[6] = self.true["beat_ticks"]
            self.raw[7] = self.true["level"]
            self.channel = (self.channel + 1) % 5
            self.law_tick(self.state, self.limits, self.readings, self.raw)
        return self

    def press(self) -> "Desk":
        self.pins.add("trigger")
        return self

    def release(self) -> "Desk":
        self.pins.discard("trigger")
        return self

    def lit(self) -> "Desk":
        """Boot, empty the pessimistic budget by hand, press and wait until it runs."""
        self.tick(30)
        self.state[words.index(words.STATE, "budget")] = 0
        self.press().tick(self.limit("delay_ticks") + self.limit("ramp_ticks") + 200)
        assert self.mode == "run", (self.mode, self.cause)
        return self

    def until(self, *modes: str, most: int = 2000) -> int:
        """Tick until one of `modes`; return how many ticks that took."""
        for spent in range(most):
            if self.mode in modes:
                return spent
            self.tick()
        raise AssertionError(f"still {self.mode} after {most} ticks, cause {self.cause}")
