"""Loop quality: the trim and the mount's cutback, in time and as linear loops, as the parts spread.

Each loop is looked at with typical parts, with all parts at the end that makes most heat, and with
all at the other end. It *hunts* where its linear gain margin is used up, where its current swings
by itself by more than would be seen (`hunting.HUNTING_PCT`), or where it latches a fault by doing
so; then the setting that stops it is looked for along one key: the trim's gain, or where cutback
begins.

Leaves out: the caps of junction, heat budget and pack, which are loops of the same form with other
sensors, and all but mount and trim of a gated stage, which has no partial current and no loop.
"""

import dataclasses
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from diodewright.build import Build, BuildErrors, with_values
from diodewright.derive import DerivedError, settings
from diodewright.derive.tolerances import Tolerance, tolerances
from diodewright.rehearse.trial import TrialJob
from diodewright.sim import Machine
from diodewright.tune.context import Context
from diodewright.tune.corners import CORNERS, Corner, draws_at
from diodewright.tune.hunting import HUNTING_PCT
from diodewright.tune.keys import key_row, rounded, taken_span
from diodewright.tune.loop_model import (
    Margins,
    code_K,
    cutback_lines,
    line_A_K,
    linear_plant,
    margins_of,
    trim_line,
)
from diodewright.tune.loop_runs import (
    Response,
    air_step,
    at_level,
    in_cutback,
    level_step,
    set_step,
)

__all__ = ["Looked", "Mend", "looked", "loops_of", "mend_of", "mends_of"]

_TRIM_KEY, _CUTBACK_KEY = "limits.trim_gain", "limits.mount_warm_degC"
_TRIM_HALVINGS, _CUTBACK_HALVINGS = 6, 6


@dataclass(frozen=True)
class Looked:
    """One loop with one kind of parts.

    Attributes
    ----------
    loop : "trim" or "cutback".
    parts : "typical", "hot" or "cool".
    reached : whether the light gets there; else `said` says why not.
    said : where it stands, in words.
    margins : of each linear loop, by name.
    responses : to each step.
    code_pct : what one code of the thermistor moves the drive by [%]; None for the trim.
    """

    loop: str
    parts: str
    reached: bool
    said: str
    margins: Mapping[str, Margins] = dataclasses.field(default_factory=dict)
    responses: tuple[Response, ...] = ()
    code_pct: float | None = None
    latched: bool = False

    @property
    def swing_pct(self) -> float:
        """How far the current swings at the end of a step, the worst [%]."""
        return max((100 * each.swing.share for each in self.responses), default=0.0)

    @property
    def unstable(self) -> bool:
        """Whether a linear gain margin is used up."""
        gains = [each.gain_dB for each in self.margins.values()]
        return any(gain is not None and gain < 0 for gain in gains)

    @property
    def hunts(self) -> bool:
        """Whether it swings by itself."""
        return self.latched or self.unstable or self.swing_pct > HUNTING_PCT


@dataclass(frozen=True)
class Mend:
    """A setting that stops a loop from hunting.

    Attributes
    ----------
    loop, parts : which it stops.
    key, value, unit : what to write; `value` None where nothing along that key stops it.
    looked : the loop with it; as it is where nothing stops it.
    """

    loop: str
    parts: str
    key: str
    value: float | None
    unit: str
    looked: Looked


def loops_of(context: Context) -> tuple[Looked, ...]:
    """Return every loop of the build with each kind of parts; none of a gated stage."""
    if context.build.stage.kind == "gated":
        return ()
    return tuple(
        looked(context, context.build, loop, parts)
        for loop in ("trim", "cutback")
        for parts in _parts()
    )


def _parts() -> tuple[str, ...]:
    return ("typical", "hot", "cool")


def _draws(build: Build, parts: str, rows: tuple[Tolerance, ...]) -> dict[str, float]:
    """Return where each part stands; the air is the loop's own business."""
    hot = next(corner for corner in CORNERS if corner.id == "hot")
    way = {"typical": 0, "hot": 1, "cool": -1}[parts]
    signs = {name: way * sign for name, sign in hot.signs.items() if name != "ambient"}
    return draws_at(Corner(parts, "", signs, {}, ()), build, rows)


def looked(context: Context, build: Build, loop: str, parts: str) -> Looked:
    """Return one loop of `build`, which is the context's or another choice of it."""
    rows = tolerances(build)
    words = settings(build)
    draws = _draws(build, parts, rows)
    job = TrialJob(build, context.machine, words, rows, draws, context.seed, ())
    return _trim(job, parts) if loop == "trim" else _cutback(job, parts)


def _trim(job: TrialJob, parts: str) -> Looked:
    machine, reached = at_level(job)
    if not reached or machine.mode() != "run":
        cause = machine.cause()
        said = f"latches {cause}" if cause else f"is {machine.mode().replace('_', ' ')}"
        where = "at its level" if reached else "on the way to its level"
        return Looked("trim", parts, False, f"{said} {where}", latched=reached and bool(cause))
    line = trim_line(linear_plant(machine), job.words)
    steps = (level_step(job, machine), set_step(job, machine))
    return Looked(
        "trim",
        parts,
        True,
        f"at {machine.true('diode_A'):.3g} A, gain 2^-{job.words['trim_shift']} a millisecond",
        {line.name: margins_of(line)},
        tuple(step for step in steps if step is not None),
    )


def _settled(job: TrialJob) -> tuple[Machine, bool, float]:
    """Return the machine in its cutback, in the build's own air or else in the warmest."""
    heat = job.build.heat
    for air_degC in (heat.ambient_degC, heat.ambient_max_degC):
        machine, reached = in_cutback(job, air_degC)
        if reached:
            break
    return machine, reached, air_degC


#: Which cap holds the light where it is not the mount's.
_HELD = {2: "the junction", 3: "the heat budget", 4: "the pack", 5: "too little headroom"}


def _cutback(job: TrialJob, parts: str) -> Looked:
    machine, reached, air_degC = _settled(job)
    if not reached:
        cause, held = machine.cause(), _HELD.get(machine.word("bound"))
        said = f"not reached, not even in air of {air_degC:g} degC"
        said += f": latches {cause}" if cause else f": {held} holds the light" if held else ""
        return Looked("cutback", parts, False, said, latched=bool(cause))
    lines = cutback_lines(machine, linear_plant(machine), job.words)
    drive_A = machine.word("drive") / 64000
    step_A = line_A_K(job.words) * code_K(machine, job.words)
    return Looked(
        "cutback",
        parts,
        True,
        f"at {drive_A:.3g} A in air of {air_degC:g} degC, mount {machine.true('mount_degC'):.3g} "
        "degC",
        {line.name: margins_of(line) for line in lines},
        (air_step(job, machine),),
        100.0 * step_A / drive_A,
    )


def mends_of(context: Context, found: tuple[Looked, ...]) -> tuple[Mend, ...]:
    """Return for each loop that hunts the least change of one key that stops it, whatever parts.

    It is looked for with the parts that swing most, and then held against the others.
    """
    return tuple(
        _for_all(context, tuple(row for row in found if row.loop == loop and row.hunts))
        for loop in dict.fromkeys(row.loop for row in found if row.hunts)
    )


def _for_all(context: Context, hunting: tuple[Looked, ...]) -> Mend:
    """Return the change that stops one loop with all parts that make it hunt."""
    left = sorted(hunting, key=lambda row: (row.latched, row.swing_pct), reverse=True)
    mend = mend_of(context, left[0])
    for row in left[1:]:
        if mend.value is None:
            break
        seen = _with(context, row, mend.key, mend.value)
        if seen is None or not seen.reached or seen.hunts:
            mend = mend_of(context, row)
    return mend


def mend_of(context: Context, found: Looked) -> Mend:
    """Return the least change of one key that stops a loop which hunts."""
    if found.loop == "trim":
        return _first(context, found, _TRIM_KEY, _smaller_gains(context))
    return _least(context, found)


def _with(context: Context, found: Looked, key: str, value: float) -> Looked | None:
    """Return the loop with `value` at `key`; None where build or board do not take it."""
    try:
        build = with_values(context.build, {key: value})
        return looked(context, build, found.loop, found.parts)
    except (BuildErrors, DerivedError):
        return None


def _smaller_gains(context: Context) -> Iterator[float]:
    row = key_row(context.build, _TRIM_KEY)
    yield from (rounded(row, row.start / 2**n) for n in range(1, _TRIM_HALVINGS + 1))


def _first(context: Context, found: Looked, key: str, values: Iterator[float]) -> Mend:
    """Return the first of `values` that stops it."""
    for value in values:
        seen = _with(context, found, key, value)
        if seen is not None and seen.reached and not seen.hunts:
            return Mend(found.loop, found.parts, key, value, "", seen)
    return Mend(found.loop, found.parts, key, None, "", found)


def _least(context: Context, found: Looked) -> Mend:
    """Return the least lowering of where cutback begins that stops it, by bisection."""
    row = key_row(context.build, _CUTBACK_KEY)
    low, _ = taken_span(context, row, {})

    def at(value: float) -> tuple[float, Looked | None]:
        held = float(rounded(row, value))
        return held, _with(context, found, row.path, held)

    return _bisected(found, row.path, row.unit, row.start, low, at)


def _bisected(
    found: Looked,
    key: str,
    unit: str,
    bad: float,
    low: float,
    at: Callable[[float], tuple[float, Looked | None]],
) -> Mend:
    good, seen = at(low)
    if seen is None or seen.hunts or not seen.reached:
        return Mend(found.loop, found.parts, key, None, unit, found)
    for _ in range(_CUTBACK_HALVINGS):
        middle, there = at((good + bad) / 2)
        if there is not None and there.reached and not there.hunts:
            good, seen = middle, there
        else:
            bad = middle
    return Mend(found.loop, found.parts, key, good, unit, seen)
