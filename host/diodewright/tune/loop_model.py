"""The law's two loops made linear about where a machine stands, and their margins.

Plant: the plant's own sub-step (`plant.step.advance`), taken as often as a tick has sub-steps, and
differenced about the machine's true state: ``x' = A x + B duty``, one step a tick. Nothing of a
model is written again here. Law: the words that the board has, as filters in z.

- *trim*: ``trim += (target - read) >> trim_shift``, an integrator of gain 2^-trim_shift a tick. A
  reading is as old as a tick: what the plant did in one is read in the next.
- *cutback*: the reading of the mount (each channel of the multiplexer in turn: its mean age of
  two ticks stands as a delay), smoothed by 2^-8 a tick; above the slow filter (2^-lead_shift)
  comes ``lead_x16 / 16`` of the difference; then the slope of the derate line. The law compensates
  a rise only, so that there are two linear loops, one rising and one falling, and the light swings
  between them: margins are told of both, the worse one counts.

The loop's gain is counted positive where it opposes: it is unstable where ``1 + L`` has a zero
outside of the unit circle. Left out: the slew limits, authority and caps (they bound a swing, they
don't start one), quantisation (told as the step that one code makes), and noise.

Phase and gain margin: K. J. Astrom, R. M. Murray, Feedback Systems (2008), section 9.3.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import signal

from diodedriver import words as tables
from diodewright.plant import record
from diodewright.plant.factors import prepare
from diodewright.plant.params import PARAM_RECORD, STATE
from diodewright.plant.sensors import ADC_TOP, mount_pin_V, ref_V
from diodewright.plant.step import advance
from diodewright.sim import Machine
from diodewright.sim.machine import SUBSTEPS

__all__ = [
    "LinearPlant",
    "LoopLine",
    "Margins",
    "code_K",
    "cutback_lines",
    "line_A_K",
    "linear_plant",
    "margins_of",
    "trim_line",
]

TICK_S = 1e-3
#: What the sub-step changes and looks at again, and the difference taken of it.
_STATES: Mapping[str, float] = {
    "set_pole_A": 1e-4,
    "set_A": 1e-4,
    "stage_A": 1e-4,
    "monitor_A": 1e-4,
    "output_V": 1e-4,
    "pack_A": 1e-4,
    "junction_rise_K": 0.02,
    "junction_degC": 0.02,
    "mount_degC": 0.02,
    "sink_degC": 0.02,
    "mount_ntc_degC": 0.02,
    "pass_rise_K": 0.02,
    "pass_degC": 0.02,
    "a_degC": 0.02,
}
_DUTY = 1e-4
#: Mean age of a multiplexed reading, and from the reading to what the plant makes of it [ticks].
_MUX_TICKS, _READ_TICKS = 2, 1
_SMOOTH_SHIFT = 8
_LOWEST_rad_s, _POINTS = 1e-4, 4000
_AT_HALF, _NOTHING = 1e-6, 1e-300

_Floats = NDArray[np.float64]
_Complex = NDArray[np.complex128]


@dataclass(frozen=True)
class LinearPlant:
    """One tick of the plant about a state: ``x' = A x + B duty``; `names` are of the states."""

    a: _Floats
    b: _Floats
    names: tuple[str, ...]

    def response(self, output: str, at_rad_s: _Floats) -> _Complex:
        """Return what `output` does for a wave of duty, at the end of each tick."""
        size = len(self.names)
        z = np.exp(1j * at_rad_s * TICK_S)
        inner = z[:, None, None] * np.eye(size) - self.a
        right = np.broadcast_to(self.b[:, None], (len(z), size, 1))
        # x[n+1] answers the duty of tick n: at the end of its own tick it is one z further on
        found = np.linalg.solve(inner, right)[:, self.names.index(output), 0] * z
        return np.asarray(found, dtype=np.complex128)


@dataclass(frozen=True)
class LoopLine:
    """One linear loop: what it is called, and its open-loop response.

    Attributes
    ----------
    name : "trim", "cutback, rising" or "cutback, falling".
    at_rad_s : frequencies, rising, up to half a turn a tick.
    gain : the open loop there.
    """

    name: str
    at_rad_s: _Floats
    gain: _Complex


@dataclass(frozen=True)
class Margins:
    """How far a loop is from swinging by itself; None where it can't be brought there.

    Attributes
    ----------
    phase_deg : more lag that it bears where its gain is 1; None: its gain is nowhere 1.
    gain_dB : more gain that it bears; below 0 it swings.
    crossover_rad_s : where its gain is 1.
    swings_rad_s : where it would swing, at more gain.
    """

    phase_deg: float | None
    gain_dB: float | None
    crossover_rad_s: float | None
    swings_rad_s: float | None

    @property
    def period_s(self) -> float | None:
        """The period of that swing [s]."""
        return None if self.swings_rad_s is None else 2.0 * math.pi / self.swings_rad_s


def linear_plant(machine: Machine) -> LinearPlant:
    """Return one tick of the machine's plant, differenced about where it stands."""
    p = record.refill(PARAM_RECORD, _numbers(machine.p), compiled=False)
    dt_s = TICK_S / SUBSTEPS
    prepare(p.record, dt_s)
    held = _numbers(machine.x)
    names = tuple(_STATES)

    def tick(moved: str, by: float) -> _Floats:
        x = record.refill(STATE, held, compiled=False).record
        setattr(x, moved, getattr(x, moved) + by)
        for _ in range(SUBSTEPS):
            advance(p.record, x, dt_s)
        return np.array([getattr(x, name) for name in names])

    def slope(moved: str, by: float) -> _Floats:
        return (tick(moved, by) - tick(moved, -by)) / (2 * by)

    a = np.column_stack([slope(name, by) for name, by in _STATES.items()])
    return LinearPlant(a, slope("duty", _DUTY), names)


def _numbers(filled: record.Filled) -> list[float]:
    return [float(filled.flat[place]) for place in range(len(filled.flat))]


def _frequencies() -> _Floats:
    return np.geomspace(_LOWEST_rad_s, math.pi / TICK_S, _POINTS)


def _filtered(b: Sequence[float], a: Sequence[float], at_rad_s: _Floats) -> _Complex:
    """Return the response of a filter in powers of 1/z."""
    return np.asarray(signal.freqz(b, a, worN=at_rad_s * TICK_S)[1])


def _delayed(ticks: int, at_rad_s: _Floats) -> _Complex:
    return np.asarray(np.exp(-1j * at_rad_s * TICK_S * ticks))


def _duty_of_A(words: Mapping[str, int]) -> float:
    """Return the duty for one ampere of drive."""
    return 1000.0 / words["duty_full_mA"]


def trim_line(plant: LinearPlant, words: Mapping[str, int]) -> LoopLine:
    """Return the open loop of the trim."""
    at = _frequencies()
    gain = 2.0 ** -words["trim_shift"]
    # what was read moves the drive of the same tick
    integrator = _filtered([gain], [1.0, -1.0], at)
    current = plant.response("monitor_A", at) * _duty_of_A(words)
    return LoopLine("trim", at, integrator * current * _delayed(_READ_TICKS, at))


def cutback_lines(machine: Machine, plant: LinearPlant, words: Mapping[str, int]) -> list[LoopLine]:
    """Return the open loops of the mount's cutback: with the lead of a rise, and without."""
    at = _frequencies()
    smooth = _filtered([2.0**-_SMOOTH_SHIFT], [1.0, 2.0**-_SMOOTH_SHIFT - 1.0], at)
    slow_gain = 2.0 ** -words["lead_shift"]
    slow = _filtered([slow_gain], [1.0, slow_gain - 1.0], at)
    heat = plant.response("mount_ntc_degC", at) * _duty_of_A(words)
    read = _reading_slope(machine, words) * _delayed(_READ_TICKS + _MUX_TICKS, at)
    falling = line_A_K(words) * smooth * heat * read
    lead = 1.0 + words["lead_x16"] / 16.0 * (1.0 - slow)
    return [
        LoopLine("cutback, rising", at, falling * lead),
        LoopLine("cutback, falling", at, falling),
    ]


def mount_read_degC(machine: Machine, words: Mapping[str, int], ntc_degC: float) -> float:
    """Return what the law reads of a mount thermistor at [degC], before it is rounded to a code."""
    p = record.refill(PARAM_RECORD, _numbers(machine.p), compiled=False)
    x = record.refill(STATE, _numbers(machine.x), compiled=False)
    x.record.mount_ntc_degC = ntc_degC
    code = mount_pin_V(p.record, x.record) / ref_V(p.record, x.record) * ADC_TOP
    points = [words[f"ntc_{place}_cK"] for place in range(tables.NTC_POINTS)]
    return float(np.interp(code / 128.0, range(tables.NTC_POINTS), points)) / 100.0 - 273.15


def code_K(machine: Machine, words: Mapping[str, int]) -> float:
    """Return the kelvins that one code of the converter makes, where the mount stands."""
    read_cK = 100.0 * (mount_read_degC(machine, words, machine.true("mount_ntc_degC")) + 273.15)
    points = [words[f"ntc_{place}_cK"] for place in range(tables.NTC_POINTS)]
    place = next(i for i in range(1, len(points)) if points[i] <= read_cK)
    return (points[place - 1] - points[place]) / 100.0 / 128.0


def line_A_K(words: Mapping[str, int]) -> float:
    """Return the slope of the derate line: amperes taken for a kelvin of the mount."""
    return (words["top_mA"] - words["dim_mA"]) / (words["hot_cK"] - words["warm_cK"]) / 10.0


def _reading_slope(machine: Machine, words: Mapping[str, int]) -> float:
    """Return what the law reads for a kelvin of the thermistor."""
    at_degC = machine.true("mount_ntc_degC")
    ends = [mount_read_degC(machine, words, at_degC + by) for by in (-2.0, 2.0)]
    return (ends[1] - ends[0]) / 4.0


def margins_of(line: LoopLine) -> Margins:
    """Return phase and gain margin: the least phase where the gain is 1, the first turn to -180."""
    size = np.log(np.maximum(np.abs(line.gain), _NOTHING))
    turn = np.unwrap(np.angle(line.gain))
    at = np.log(line.at_rad_s)
    ones = _crossings(at, size)
    phases = [(180.0 + math.degrees(float(np.interp(one, at, turn))), one) for one in ones]
    phase, one = min(phases, default=(None, None))
    halves = _crossings(at, turn + math.pi)
    if not halves and abs(turn[-1] + math.pi) < _AT_HALF:
        # at half a turn a tick the loop is a plain number: one below 0 is a turn to -180
        halves = [float(at[-1])]
    half = halves[0] if halves else None
    return Margins(
        phase,
        None if half is None else -20.0 / math.log(10.0) * float(np.interp(half, at, size)),
        None if one is None else math.exp(one),
        None if half is None else math.exp(half),
    )


def _crossings(at: _Floats, values: _Floats) -> list[float]:
    """Return where straight lines between `values` go through zero."""
    below = np.signbit(values)
    places = np.flatnonzero(below[1:] != below[:-1])
    share = values[places] / (values[places] - values[places + 1])
    return [float(each) for each in at[places] + share * (at[places + 1] - at[places])]
