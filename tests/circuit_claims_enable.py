"""What the netlists prove of the dynamic enable, and of the order in which the cut-offs close.

What a row's fields mean, and how it is run: `circuit_claim`.
"""

from circuit_claim import Claim
from circuit_readings import (
    ahead_ms,
    b_fall_ms,
    b_rise_ms,
    half_on_us,
    held_ms,
    pulses,
    slowed_ms,
)
from circuit_values import enable, ordered, slow_b
from diodewright.derive.reference import TICK_S
from diodewright.derive.settings import settings

__all__ = ["CONTACT_MS", "ENABLES"]

#: The self-test waits so long for the dynamic enable [ticks]: 20 rising edges.
ENABLE_PULSES = 20
#: Longest that a gate may stay between its threshold and full enhancement [us]; common practice.
HALF_ON_US = 10.0
#: Longest from an opened contact, and from a pin at half its rate, to dark [ms]; common practice.
CONTACT_MS = 10.0

ENABLES: tuple[Claim, ...] = (
    Claim(
        "enable-on",
        "dynamic enable: rising edges until A closes, at every corner",
        "dynamic_enable",
        lambda b: enable(b, "slow to rise", {}),
        pulses,
        True,
        lambda _: ENABLE_PULSES,
        "edges",
        ("a coupling capacitor of 4.7 nF", {"couple_F": 4.7e-9}),
    ),
    Claim(
        "enable-off",
        "dynamic enable: off behind the last edge, the pin stuck high, low or floating",
        "dynamic_enable",
        lambda b: enable(b, "slow to fall", {"stays": 0.0}, {"stays": 1.0}, {"floats": 1.0}),
        held_ms,
        True,
        lambda b: b.cutoffs.pulse_hold_ms,
        "ms",
        ("no bleeder", {"bleed_ohm": 10e6}),
    ),
    Claim(
        "enable-hold",
        "dynamic enable: rides through two late ticks",
        "dynamic_enable",
        lambda b: enable(b, "quick to fall", {"stays": 0.0}, {"stays": 1.0}),
        held_ms,
        False,
        lambda _: 2.0,
        "ms",
        ("a lower threshold of 0.42 of the rail", {"fall_share": 0.42}),
    ),
    Claim(
        "enable-half",
        "dynamic enable: off for good, from where the pin falls to half its rate",
        "dynamic_enable",
        lambda b: enable(b, "high crest", {"slows": 1.0, "stop_s": 120e-3}),
        slowed_ms,
        True,
        lambda _: CONTACT_MS,
        "ms",
        ("a lower threshold of 0.15 of the rail", {"fall_share": 0.15}),
    ),
    Claim(
        "enable-edge",
        "dynamic enable: longest single stay of A's gate between off and fully on",
        "dynamic_enable",
        lambda b: enable(b, "slow to rise", {}),
        half_on_us,
        True,
        lambda _: HALF_ON_US,
        "us",
        ("the pump straight onto the gate", {"direct": 1.0}),
    ),
    Claim(
        "order-a-first",
        "start: A is closed ahead of the stage's enable, A as late and B as early as may be",
        "enable_order",
        ordered,
        ahead_ms,
        False,
        lambda _: 1000 * TICK_S,
        "ms",
        ("C10 left out", {"delay_F": 1e-12}),
    ),
    Claim(
        "order-b-rise",
        "start: the stage's enable behind its pin, as late as may be, within what the law waits",
        "enable_order",
        slow_b,
        b_rise_ms,
        True,
        lambda b: settings(b)["stage_ticks"] - 2 - b.stage.startup_ms,
        "ms",
        ("C10 of 220 nF", {"delay_F": 220e-9}),
    ),
    Claim(
        "order-b-fall",
        "end: the stage's enable behind its pin",
        "enable_order",
        slow_b,
        b_fall_ms,
        True,
        lambda _: 0.1,
        "ms",
        ("D7 left out", {"back_ohm": 1e9}),
    ),
)
