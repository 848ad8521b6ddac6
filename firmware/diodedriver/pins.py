"""The pin tables: one row a signal, one table a class of board. Data only.

The set PWM lies on slices 0 to 3: those stop at a soft reset, slices 4 to 7 run on (GPIO 8 to 15
and 24 to 29). No enable is ever a PWM. Every output needs its resistor to ground: out of reset a
pin floats, and one stepping of the RP2350 sources 120 uA into it.
"""

# name -> GPIO. Inputs read the hardware's result: high is pressed, on, closed, set.
RP2040 = {
    "current": 26,
    "output": 27,
    "mux": 28,
    "set": 2,
    "enable_b": 6,
    "pulse": 7,
    "indicator": 16,
    "reset": 17,
    "warn": 18,
    "trickle": 19,
    "inject": 20,
    "blink": 25,
    "mux_0": 10,
    "mux_1": 11,
    "mux_2": 12,
    "trigger": 3,
    "key": 4,
    "interlock": 5,
    "latch": 21,
}

# the larger package of the newer chip: its converter lies on other pins
RP2350 = dict(RP2040)
RP2350["current"] = 40
RP2350["output"] = 41
RP2350["mux"] = 42

BOARDS = {"rp2040": RP2040, "rp2350": RP2350}

# pin numbers whose PWM goes on through a soft reset
RUNS_ON = tuple(range(8, 16)) + tuple(range(24, 30))
OUTPUTS = (
    "enable_b",
    "pulse",
    "trickle",
    "inject",
    "reset",
    "indicator",
    "warn",
    "blink",
    "mux_0",
    "mux_1",
    "mux_2",
)
INPUTS = ("trigger", "key", "interlock", "latch")
