"""A recorded pulse -> the pack's R0, R1 and C1, and its DC resistance by the two-current method.

Model. The plant's own pack (`plant.pack`) under the recorded current and voltage at the stage's
output: what the stage takes from the pack for that is the plant's stage. Against the pack's reading
at the stage's input. Its charge at the start is fitted as well. A recording with a column
``pack_A`` (a meter in the pack's lead) is taken as it is, without the stage's model.

What no such record shows: the wiring apart from the cells' instant resistance (the wiring stays as
the build says), and a pulse takes too little charge to show the capacity.

DC resistance. IEC 61960-3 (second-hand, as a maker of testers tells it): a fifth of the one-hour
current for 10 s, then the one-hour current for 1 s, ``R = (U1 - U2) / (I2 - I1)``, each at its end.
A lamp's own levels stand in for those currents; how much they are is said. Not to be mixed with a
resistance at 1 kHz, which is lower.

Limits. One RC; the open-circuit curve is the chemistry's; cells do not warm up. Without a meter
all resistances go with one over the pack's current, which rests on readings and on the stage's
modelled losses.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from diodewright.bench.driven import Driven
from diodewright.bench.fitting import Fit, Suggested
from diodewright.bench.off import pack_off
from diodewright.bench.solving import Knob, Solution, solved
from diodewright.bench.span import Flags, Record, Values, cut, missing
from diodewright.bench.unread import between, unscaled
from diodewright.sim import compiled

__all__ = ["DcResistance", "dc_resistance", "fit_pack"]

_READ = ("pack_read_V", "current_read_A", "output_read_V", "drive_A", "enable")
_METERED = ("pack_read_V", "pack_A")
_LEAST_SAG_V = 0.02
_LEAST_PULSE_S = 1.0
#: The standard's own currents [of the one-hour current] and times [s].
_FIRST_IT, _FIRST_S, _SECOND_IT, _SECOND_S = 0.2, 10.0, 1.0, 1.0
#: Readings that are averaged to one, behind the step and before it [s].
_WINDOW_S, _FIRST_WINDOW_S = 0.2, 1.0
#: A current that moves by less is steady [share].
_STEADY = 0.08
_STEP_A = 1.15
_CHARGE = "charge"


@dataclass(frozen=True)
class DcResistance:
    """The two-current method on one step of the current.

    Attributes
    ----------
    pack_ohm, spread_ohm : of the whole pack, wiring included, and two standard deviations.
    first_A, second_A : currents before and behind the step.
    first_s, second_s : how long each had flowed when its voltage was taken.
    at_s : when the step came.
    """

    pack_ohm: float
    spread_ohm: float
    first_A: float
    second_A: float
    first_s: float
    second_s: float
    at_s: float


def fit_pack(record: Record, from_s: float | None = None, to_s: float | None = None) -> Fit:
    """Return the pack that the recording shows.

    Raises
    ------
    BenchError
        A bench supply; columns or a pulse are missing, it is too short, or it has a gap.
    Missing
        lmfit is not installed.
    EngineError
        The compiled engine can't be made here.
    """
    if record.build.pack.kind == "bench_supply":
        raise record.refuse("its build has a bench supply: there are no cells to fit")
    metered = not missing(record.trace, _METERED)
    seen = cut(record, _METERED if metered else _READ, from_s, to_s)
    time_s, pack_V = seen["time_s"], seen["pack_read_V"]
    if metered:
        amperes, output_V = seen["pack_A"], np.zeros_like(pack_V)
        enable, lit = output_V, amperes > 0.1 * float(amperes.max())
        output_A = np.append((amperes[1:] + amperes[:-1]) / 2, amperes[-1])
    else:
        pack_V = unscaled(pack_V)
        lit = seen["drive_A"] > 0
        enable = seen["enable"]
        read_A = np.where(lit, unscaled(seen["current_read_A"]), 0.0)
        output_A, output_V = between(read_A, unscaled(seen["output_read_V"]))
    _refuse_little(record, time_s, lit, pack_V)
    # rows across which the current changes are of two states: they are no reading of either
    usable = _settled(output_A)
    driven = Driven(record.build, compiled(), time_s)
    knobs = _knobs(driven, float(np.median(pack_V[:5])))

    def model(values: Mapping[str, float]) -> dict[str, Values]:
        changes = {name: values[name] for name in names}
        charge = min(max(values[_CHARGE], 0.0), 1.0)
        return driven.pack(changes, charge, output_A, output_V, enable, metered)

    names = [knob.name for knob in knobs if knob.key]

    def misfit(values: Mapping[str, float]) -> dict[str, Values]:
        return {"pack": (model(values)["pack_V"] - pack_V)[usable]}

    solution = solved(knobs, misfit)
    found = model(solution.values())
    scale = (0.0, "a meter in the pack's lead")
    if not metered:
        scale = pack_off(
            record.build,
            float(output_A[lit].mean()),
            float(output_V[lit].mean()),
            float(found["pack_V"][lit].mean()),
            float(found["pack_A"][lit].mean()),
        )
    dc = dc_resistance(time_s, amperes if metered else found["pack_A"], pack_V)
    return Fit(
        what="pack",
        record=record,
        solution=solution,
        suggested=_suggested(solution, scale[0]),
        scale=scale,
        notes=_notes(record, dc),
        time_s=time_s,
        channels={"pack": (pack_V, found["pack_V"], "V")},
        lit=lit,
        numbers=_numbers(record, solution, dc, scale[0]),
    )


def _settled(output_A: Values) -> Flags:
    steps = np.abs(np.diff(output_A, prepend=output_A[0]))
    after = np.abs(np.diff(output_A, append=output_A[-1]))
    most = max(float(output_A.max()), 1e-9)
    return (steps < 0.02 * most) & (after < 0.02 * most)


def _refuse_little(record: Record, time_s: Values, lit: Flags, pack_V: Values) -> None:
    if not lit.any():
        raise record.refuse("no pulse in it: it is dark throughout")
    lit_s = float(np.diff(time_s)[lit[:-1].astype(bool)].sum())
    if lit_s < _LEAST_PULSE_S:
        raise record.refuse(f"too short: a pulse of {lit_s:.2f} s, at least {_LEAST_PULSE_S:g} s")
    sag_V = float(pack_V.max() - pack_V[lit].min())
    if sag_V < _LEAST_SAG_V:
        raise record.refuse(f"no pulse in it: the pack sags by {1000 * sag_V:.0f} mV only")


def _knobs(driven: Driven, rest_V: float) -> list[Knob]:
    named = (
        ("cell_R0_ohm", "pack.cell_resistance_mohm", "instant resistance of a cell", "ohm"),
        ("cell_R1_ohm", "pack.polarisation_mohm", "slow resistance of a cell", "ohm"),
        ("cell_tau_s", "pack.polarisation_s", "time constant of the slow part", "s"),
    )
    knobs = [Knob(name, driven.start(name), key, text, unit) for name, key, text, unit in named]
    curve_V = np.array(driven.values["ocv_V"], dtype=np.float64) * driven.build.pack.series
    charge = float(np.interp(rest_V, curve_V, np.array(driven.values["ocv_soc"])))
    return [*knobs, Knob(_CHARGE, min(charge, 0.995), "", "the charge", "", scales=False)]


def _suggested(solution: Solution, share: float) -> tuple[Suggested, ...]:
    rows = []
    for each in solution.every:
        if not each.knob.key or each.kept:
            continue
        in_key = 1.0 if each.knob.unit == "s" else 1000.0
        unit = "s" if in_key == 1.0 else "mohm"
        total = each.spread if unit == "s" else math.hypot(each.spread, share * each.value)
        row = (in_key * each.value, in_key * each.spread, in_key * total)
        rows.append(Suggested(each.knob.key, *row, unit))
    return tuple(rows)


def dc_resistance(time_s: Values, pack_A: Values, pack_V: Values) -> DcResistance | None:
    """Return the pack's DC resistance at the largest step up of a steady current.

    The second voltage is taken one second behind the step, the first just before it. None where
    no current steps up, or the second does not last.
    """
    at = _largest_step(time_s, pack_A)
    if at is None:
        return None
    before, behind_s = at
    begun_s = _steady_since(time_s, pack_A, before)
    second = (time_s >= behind_s + _SECOND_S - _WINDOW_S) & (time_s <= behind_s + _SECOND_S)
    first = (time_s > time_s[before] - _FIRST_WINDOW_S) & (time_s <= time_s[before])
    if not second.any():
        return None
    first_A, second_A = float(pack_A[first].mean()), float(pack_A[second].mean())
    step_A = second_A - first_A
    if step_A <= 0:
        return None
    # the scatter of single readings, from neighbours, so that a slope does not count as scatter
    scatter = float(np.median(np.abs(np.diff(pack_V)))) / 0.954
    noise = scatter * math.sqrt(1 / first.sum() + 1 / second.sum())
    return DcResistance(
        pack_ohm=float(pack_V[first].mean() - pack_V[second].mean()) / step_A,
        spread_ohm=2 * noise / step_A,
        first_A=first_A,
        second_A=second_A,
        first_s=float(time_s[before]) - begun_s,
        second_s=_SECOND_S,
        at_s=behind_s,
    )


def _largest_step(time_s: Values, pack_A: Values) -> tuple[int, float] | None:
    """Return the last row before the step to the highest current, and when that stood [s].

    The current may take a while to rise, by the law's own ramp: the step has come where 95 % of
    it has.
    """
    most_A = float(pack_A.max())
    least_A = float(pack_A[0])
    there = int(np.argmax(pack_A >= least_A + 0.95 * (most_A - least_A)))
    before = there - 1
    while before > 0 and pack_A[before] > pack_A[before - 1] * (1 + 0.01) + 1e-3:
        before -= 1
    if there == 0 or pack_A[there] < _STEP_A * pack_A[before]:
        return None
    if time_s[-1] < time_s[there] + _SECOND_S:
        return None
    return before, float(time_s[there])


def _steady_since(time_s: Values, pack_A: Values, last: int) -> float:
    """Return since when the current was what it is at row `last` [s]."""
    held = np.abs(pack_A[: last + 1] - pack_A[last]) <= _STEADY * abs(pack_A[last]) + 1e-3
    broken = np.flatnonzero(~held)
    return float(time_s[broken[-1] + 1] if len(broken) else time_s[0])


def _numbers(
    record: Record, solution: Solution, dc: DcResistance | None, share: float
) -> tuple[tuple[str, float, float, str, str], ...]:
    """Return the figures that no build key holds: C1 of a cell, and the DC resistance."""
    rows = []
    fitted = {each.knob.name: each for each in solution.every}
    r1, tau = fitted["cell_R1_ohm"], fitted["cell_tau_s"]
    if not r1.kept and not tau.kept and r1.value > 0:
        farads = tau.value / r1.value
        off = math.hypot(r1.spread / r1.value + tau.spread / tau.value, share)
        rows.append(("cell_C1_F", farads, farads * off, "F", "tau / R1"))
    if dc is not None:
        pack = record.build.pack
        hour_A = pack.capacity_Ah * pack.parallel
        total = math.hypot(dc.spread_ohm, share * dc.pack_ohm)
        how = (
            f"{dc.first_A / hour_A:.2f} It for {dc.first_s:.1f} s, then "
            f"{dc.second_A / hour_A:.2f} It for {dc.second_s:.0f} s"
        )
        rows.append(("pack_dc_mohm", 1000 * dc.pack_ohm, 1000 * total, "mohm", how))
        each = (1000 * dc.pack_ohm - record.build.pack.wiring_mohm) * pack.parallel / pack.series
        off = 1000 * total * pack.parallel / pack.series
        rows.append(("cell_dc_mohm", each, off, "mohm", "one cell, the build's wiring taken off"))
    return tuple(rows)


def _notes(record: Record, dc: DcResistance | None) -> tuple[str, ...]:
    notes = [
        f"wiring stays at {record.build.pack.wiring_mohm:g} mohm: the terminals show it and the "
        "cells' instant resistance as one",
        f"capacity stays at {record.build.pack.capacity_Ah:g} Ah: a pulse takes too little of it",
    ]
    if dc is None:
        notes.append("no DC resistance: no step up to a current that lasts a second")
    else:
        notes.append(
            f"the standard's DC resistance takes {_FIRST_IT:g} It for {_FIRST_S:.0f} s, then "
            f"{_SECOND_IT:g} It for {_SECOND_S:.0f} s; here the lamp's own levels stand in"
        )
    return tuple(notes)
