"""The first peak of a switching stage that is enabled into its full set current.

Equations. The output stands empty, the inductor at rest. The switch is on until the inductor
carries the set current and half the ripple, and the stage has had its reaction time; it is off
until the current has fallen half the ripple below, and again the reaction time (a hysteretic
stage; every stage that limits each cycle rises the same way to its first peak). On:
``L i' = V - (R + R_high) i - v``; off: ``L i' = -(R + R_low) i - v``; the output
``C v' = i - (v - knee) / R_d`` once the diode conducts (v above the knee), before it ``C v' = i``.
The diode's current is ``(v - knee) / R_d``.

Source. Circuit laws; ripple as of Erickson and Maksimovic, hysteretic form. SPICE on the same
circuit: `hardware_notes/netlists/turn_on.cir`.

Does not model: the stage's own soft-start (it rises slower), the wind-up of an averaging
amplifier (a maker states it as overshoot; it multiplies the set current), ringing of the switch
node, the set path's filter (the set input is taken as full from the first), the pack's sag and
the input capacitor (the full pack holds). A linear stage is no case of this.
"""

import math
from dataclasses import dataclass, replace

import numpy as np

from diodewright.edges.circuit import Array, Watch, first_event

__all__ = ["Starting", "TurnOn", "turn_on"]

_SAMPLES = 128
#: Turns of the switch that are looked at: the first peak and those after it.
_TURNS = 3
_MOST_EVENTS = 40


@dataclass(frozen=True)
class Starting:
    """A switching stage that is about to be enabled.

    Attributes
    ----------
    source_V, source_ohm : the pack [V] and all up to the stage [ohm].
    high_ohm, low_ohm : its two switches [ohm].
    inductor_ohm : winding and own shunt [ohm].
    inductor_H, output_F : [H], [F].
    knee_V, diode_ohm : the diode's tangent [V], [ohm], with all in series with it.
    set_A : the current that the stage heads for, overshoot included [A].
    ripple_A : peak to peak, in regulation [A].
    react_s : from the stage's threshold to its switch [s].
    """

    source_V: float
    source_ohm: float
    high_ohm: float
    low_ohm: float
    inductor_ohm: float
    inductor_H: float
    output_F: float
    knee_V: float
    diode_ohm: float
    set_A: float
    ripple_A: float
    react_s: float


@dataclass(frozen=True)
class TurnOn:
    """What the start showed: peaks of diode and inductor [A], and when the diode peaked [s]."""

    diode_peak_A: float
    inductor_peak_A: float
    peak_s: float


def _piece(of: Starting, on: bool, conducts: bool) -> tuple[Array, Array]:
    """Return A and b of (i, v)."""
    ohm = of.inductor_ohm + (of.source_ohm + of.high_ohm if on else of.low_ohm)
    load_S = 1.0 / of.diode_ohm if conducts else 0.0
    rates = np.array(
        [
            [-ohm / of.inductor_H, -1.0 / of.inductor_H],
            [1.0 / of.output_F, -load_S / of.output_F],
        ]
    )
    drive = np.array(
        [
            of.source_V / of.inductor_H if on else 0.0,
            load_S * of.knee_V / of.output_F,
        ]
    )
    return rates, drive


def _watches(of: Starting, on: bool, conducts: bool) -> list[Watch]:
    """Return what ends this piece: the stage's threshold, and the diode's knee."""
    top_A, bottom_A = of.set_A + 0.5 * of.ripple_A, of.set_A - 0.5 * of.ripple_A
    turn: Watch = ((1.0, 0.0), top_A) if on else ((-1.0, 0.0), -bottom_A)
    knee: Watch = ((0.0, -1.0), -of.knee_V) if conducts else ((0.0, 1.0), of.knee_V)
    return [turn, knee]


@dataclass(frozen=True)
class _Now:
    """Where the circuit stands, and the peaks up to here."""

    at_s: float
    state: Array
    on: bool
    conducts: bool
    best: TurnOn


def _further(of: Starting, now: _Now, span_s: float, turns: bool) -> tuple[_Now, int]:
    """Go on to the next event or by `span_s`; `turns` False: the reaction time, no threshold."""
    watches = _watches(of, now.on, now.conducts)
    if not turns:
        watches = [((0.0, 0.0), 1.0), watches[1]]
    piece = _piece(of, now.on, now.conducts)
    event = first_event(*piece, now.state, span_s / _SAMPLES, _SAMPLES, watches)
    best = now.best
    if now.conducts:
        currents = (event.seen[:, 1] - of.knee_V) / of.diode_ohm
        at = int(np.argmax(currents))
        if currents[at] > best.diode_peak_A:
            best = replace(
                best,
                diode_peak_A=float(currents[at]),
                peak_s=now.at_s + min(at * span_s / _SAMPLES, event.after_s),
            )
    inductor_A = max(best.inductor_peak_A, float(event.seen[:, 0].max()))
    conducts = now.conducts != (event.which == 1)
    best = replace(best, inductor_peak_A=inductor_A)
    return _Now(now.at_s + event.after_s, event.state, now.on, conducts, best), event.which


def _react(of: Starting, now: _Now) -> _Now:
    """Let the reaction time pass, then turn the switch."""
    left_s = of.react_s
    for _ in range(3):
        if left_s <= 0.0:
            break
        begin_s = now.at_s
        now, _which = _further(of, now, left_s, turns=False)
        left_s -= now.at_s - begin_s
    return replace(now, on=not now.on)


def turn_on(of: Starting) -> TurnOn:
    """Enable the stage and return the peaks of its first turns.

    A current that never reaches the threshold (a pack too low) gives what it rises to.
    """
    start = TurnOn(0.0, 0.0, 0.0)
    now = _Now(0.0, np.zeros(2), True, of.knee_V <= 0.0, start)
    slowest_s = of.inductor_H * of.set_A / max(of.source_V - of.knee_V, 0.05 * of.source_V)
    span_s = 4.0 * (slowest_s + math.sqrt(of.inductor_H * of.output_F))
    turns = 0
    for _ in range(_MOST_EVENTS):
        now, which = _further(of, now, span_s, turns=True)
        if which == 0:
            now = _react(of, now)
            turns += 1
        if which < 0 or turns >= _TURNS:
            break
    return now.best
