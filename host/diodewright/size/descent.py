"""A pack run down from full to the lockout under the law: volts, current, headroom, light, minutes.

Each step of charge is one settled working point of the plant. What is asked for is the highest
level, less what the law's pack cutback takes, less what its headroom rule takes.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from diodewright.build import Build
from diodewright.derive import settings
from diodewright.derive.electrics import bisected, highest_level_A
from diodewright.plant.kernel import Record
from diodewright.size.caps import by_pack_A, estimate_V
from diodewright.size.optical import light_lm
from diodewright.size.working import Corner, Working, lit_state, plant_of, settled

__all__ = [
    "Descent",
    "DescentRow",
    "descend",
    "end_of",
    "held_point",
    "last_full",
    "start_charge_pct",
    "told",
]

#: Charge is taken in steps of this much of the whole.
STEP_PCT = 0.5
_HALVINGS = 14
_LOCKOUT = "low-battery lockout"
_LOADED_MIN = "loaded minimum"
_GATE = "the end of the pack's cutback, a gated light having no dimmer level"
_EMPTY = "empty"


@dataclass(frozen=True)
class DescentRow:
    """One step of a pack on its way down.

    Attributes
    ----------
    charge_pct : left in the pack.
    pack_V, pack_A : at the stage's input, and drawn.
    headroom_V : above what the stage needs at its end of regulation.
    diode_A, light_W, light_lm : what the law leaves of the highest level.
    light_s : light so far.
    """

    charge_pct: float
    pack_V: float
    pack_A: float
    headroom_V: float
    diode_A: float
    light_W: float
    light_lm: float
    light_s: float


@dataclass(frozen=True)
class Descent:
    """A pack run down until the light ends.

    Attributes
    ----------
    rows : one for each step of charge.
    full_s : light at the whole highest level.
    light_s : all light.
    short_pct : charge at which the stage first had too little headroom; None: never.
    ends : in words, what ends the light.
    """

    rows: tuple[DescentRow, ...]
    full_s: float
    light_s: float
    short_pct: float | None
    ends: str


def _short(words: Mapping[str, int], point: Working) -> bool:
    """Return whether the law finds too little headroom at `point`, or the stage drops out."""
    room_V = point.pack_V - point.output_V
    return point.drops_out or room_V < words["headroom_mV"] / 1000


def _held(words: Mapping[str, int], point: Working) -> bool:
    """Return whether law and stage let `point` stand."""
    allowed_A = by_pack_A(words, estimate_V(words, point))
    return not _short(words, point) and allowed_A >= point.asked_A


def held_point(
    p: Record, x: Record, words: Mapping[str, int], level_A: float, charge_pct: float
) -> tuple[Working, bool]:
    """Return the point that law and stage settle at, and whether headroom is what cuts.

    A gated stage has no level between: it is the level, whatever follows.
    """

    def at(asked_A: float) -> Working:
        return settled(p, asked_A, charge_pct, float(p.ambient_degC), x)

    full = at(level_A)
    short = _short(words, full)
    if words["gate_mA"] or _held(words, full):
        return full, short
    start_A = words["start_mA"] / 1000
    low_A, _ = bisected(start_A, level_A, lambda asked_A: _held(words, at(asked_A)), _HALVINGS)
    return at(low_A), short


def last_full(build: Build, words: Mapping[str, int], corner: Corner | None = None) -> Working:
    """Return the point at which the pack last bears the whole highest level: its highest current.

    Where it never does, what law and stage make of it at the start.
    """
    p, level_A, x = plant_of(build, corner), highest_level_A(build), lit_state()
    air_degC, start_pct = float(p.ambient_degC), start_charge_pct(build)

    def at(charge_pct: float) -> Working:
        return settled(p, level_A, charge_pct, air_degC, x)

    if not _held(words, at(start_pct)):
        return held_point(p, x, words, level_A, start_pct)[0]
    _, high_pct = bisected(0.0, start_pct, lambda pct: not _held(words, at(pct)), _HALVINGS)
    return at(high_pct)


def start_charge_pct(build: Build) -> float:
    """Return the charge [%] at the start; a bench supply counts as full."""
    return 100.0 if build.pack.kind == "bench_supply" else build.pack.start_charge_pct


def end_of(build: Build, words: Mapping[str, int], point: Working) -> str:
    """Return what makes `point` dark; "" where it shines."""
    rested_V = estimate_V(words, point)
    if by_pack_A(words, rested_V) == 0.0:
        return _GATE
    if 1000 * rested_V < words["lockout_mV"]:
        return _LOCKOUT
    if 1000 * point.pack_V < words["loaded_min_mV"]:
        return _LOADED_MIN
    return ""


def descend(build: Build, corner: Corner | None = None) -> Descent | None:
    """Run the build's pack down at its highest level; None on a bench supply.

    The mount is held at the corner's air: what heat cuts back is not in it. Leaves out what cold
    and age take of the charge, and that the estimate lags by its filter.
    """
    if build.pack.kind == "bench_supply":
        return None
    p, words, level_A = plant_of(build, corner), settings(build), highest_level_A(build)
    x, step_C, lm_W = lit_state(), STEP_PCT / 100 / float(p.soc_per_C), light_lm(build, 1.0)
    rows: list[DescentRow] = []
    full_s, light_s, charge_pct = 0.0, 0.0, build.pack.start_charge_pct
    short_pct: float | None = None
    ends = _EMPTY
    while charge_pct > 0:
        point, short = held_point(p, x, words, level_A, charge_pct)
        if short and short_pct is None:
            short_pct = charge_pct
        if said := end_of(build, words, point):
            ends = said
            break
        rows.append(
            DescentRow(
                charge_pct,
                point.pack_V,
                point.pack_A,
                point.headroom_V,
                point.diode_A,
                point.light_W,
                lm_W * point.light_W,
                light_s,
            )
        )
        light_s += step_C / point.pack_A
        full_s += step_C / point.pack_A if point.diode_A > 0.999 * level_A else 0.0
        charge_pct -= STEP_PCT
    return Descent(tuple(rows), full_s, light_s, short_pct, ends)


def told(found: Descent) -> tuple[DescentRow, ...]:
    """Return the rows of a descent to print: first, last, and every tenth of charge."""
    ends = (*found.rows[:1], *found.rows[-1:])
    return tuple(row for row in found.rows if row in ends or row.charge_pct % 10 == 0)
