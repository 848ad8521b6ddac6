"""A recorded heat-up and cool-down -> the heat ladder from mount to air.

Model. The plant's own heat path (`plant.heat`) under the recorded current and voltage of the diode;
heat is electrical power less the light that the build's diode gives at its junction. Against the
two thermistors, their lag included. The air is fitted as well, as the sink's sensor reads it, and
what the mount's sensor reads above the sink's at rest.

What no such record shows: the junction (nothing reads it), and which part of the way from mount to
sink is the pad: both stay as the build says, the rest of the way takes what is found.

Limits. One lump each for mount and sink, the air at one temperature, its resistance the same hot
and cold. All resistances go with one over the heat, all capacities with it: what current and
voltage readings and the light may be off is told apart, as a scale of all of them.
"""

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from diodewright.bench.driven import Driven
from diodewright.bench.fitting import Fit, Suggested
from diodewright.bench.off import heat_off
from diodewright.bench.rest import at_rest
from diodewright.bench.solving import Knob, Solution, solved
from diodewright.bench.span import Flags, Record, Values, cut
from diodewright.bench.unread import between, thermistor, unscaled
from diodewright.sim import compiled

__all__ = ["fit_thermal"]

_COLUMNS = (
    "current_read_A",
    "output_read_V",
    "pack_read_V",
    "mount_read_degC",
    "sink_read_degC",
    "drive_A",
)
#: What must be there: lit for so long [s], the sink or the mount warmer by so much [K].
_LEAST_LIT_S = 20.0
_LEAST_RISE_K = 2.0
#: A record of the cool-down is so much longer than the light [share of it].
_COOL_SHARE = 0.2
#: The light that a diode gives may be so much off what the build says; typical, no source.
_LIGHT_OFF = 0.1
#: The least that a build file takes for the way from mount to sink.
_LEAST_K_W = 0.05
#: `likely` speaks of three standard deviations; a stated uncertainty of two.
_TO_TWO = 2.0 / 3.0
_AIR, _OVER, _BEGIN_MOUNT, _BEGIN_SINK = "ambient_degC", "over_K", "mount_0_degC", "sink_0_degC"


def fit_thermal(record: Record, from_s: float | None = None, to_s: float | None = None) -> Fit:
    """Return the heat ladder that the recording shows.

    Raises
    ------
    BenchError
        Columns or a heat-up are missing, it is too short, or it has a gap.
    Missing
        lmfit is not installed.
    EngineError
        The compiled engine can't be made here.
    """
    seen = cut(record, _COLUMNS, from_s, to_s)
    time_s, lit = seen["time_s"], seen["drive_A"] > 0
    true = thermistor(record.then)
    mount_degC, sink_degC = true(seen["mount_read_degC"]), true(seen["sink_read_degC"])
    _refuse_little(record, time_s, lit, mount_degC, sink_degC)
    diode_A, output_V, pack_V = between(
        np.where(lit, unscaled(seen["current_read_A"]), 0.0),
        unscaled(seen["output_read_V"]),
        unscaled(seen["pack_read_V"]),
    )
    driven = Driven(record.build, compiled(), time_s)
    first = slice(0, int(np.argmax(lit)))
    still = at_rest(record.build, time_s[first], mount_degC[first], sink_degC[first])
    knobs = _knobs(driven, still, mount_degC, sink_degC)

    def model(values: Mapping[str, float]) -> dict[str, Values]:
        changes = {name: values[name] for name in driven_names}
        air_degC = values[_AIR]
        began = (values.get(_BEGIN_MOUNT, air_degC), values.get(_BEGIN_SINK, air_degC))
        rows = driven.heat(changes, began, diode_A, output_V, pack_V)
        over_K = values.get(_OVER, 0.0)
        return {"mount": rows["mount_degC"] + over_K, "sink": rows["sink_degC"], **rows}

    driven_names = [knob.name for knob in knobs if knob.key] + [_AIR]

    def misfit(values: Mapping[str, float]) -> dict[str, Values]:
        found = model(values)
        return {"mount": found["mount"] - mount_degC, "sink": found["sink"] - sink_degC}

    solution = _no_sharper_than_rows(solved(knobs, misfit), time_s)
    found = model(solution.values())
    scale = heat_off(
        record.build,
        float(diode_A[lit].mean()),
        float(output_V[lit].mean()),
        float(found["heat_W"][lit].mean()),
        float(found["light_W"][lit].mean()),
    )
    return Fit(
        what="thermal",
        record=record,
        solution=solution,
        suggested=_suggested(record, solution, scale[0]),
        scale=scale,
        notes=_notes(record, solution, time_s, lit, still),
        time_s=time_s,
        channels={
            "mount": (mount_degC, found["mount"], "°C"),
            "sink": (sink_degC, found["sink"], "°C"),
        },
        lit=lit,
    )


def _refuse_little(
    record: Record, time_s: Values, lit: Flags, mount_degC: Values, sink_degC: Values
) -> None:
    """Raise BenchError where there is no heat-up to learn from."""
    lit_s = float(np.diff(time_s)[lit[:-1].astype(bool)].sum())
    if not lit.any():
        raise record.refuse("no heat-up in it: it is dark throughout")
    if lit_s < _LEAST_LIT_S:
        raise record.refuse(f"too short: lit for {lit_s:.1f} s, at least {_LEAST_LIT_S:.0f} s")
    rise_K = max(float(each.max() - each[0]) for each in (mount_degC, sink_degC))
    if rise_K < _LEAST_RISE_K:
        raise record.refuse(
            f"no heat-up in it: nothing warmed by more than {rise_K:.1f} K, "
            f"at least {_LEAST_RISE_K:.0f} K"
        )


def _knobs(driven: Driven, still: bool, mount_degC: Values, sink_degC: Values) -> list[Knob]:
    named = (
        ("sink_air_K_W", "heat.sink_air_K_W", "sink to air", "K/W"),
        ("sink_J_K", "heat.sink_J_K", "heat capacity of the sink", "J/K"),
        ("mount_sink_K_W", "heat.interface_K_W", "mount to sink", "K/W"),
        ("mount_J_K", "heat.mount_J_K", "heat capacity of the mount", "J/K"),
        ("ntc_lag_s", "sensors.ntc_lag_s", "lag of the sensors", "s"),
    )
    knobs = [Knob(name, driven.start(name), key, text, unit) for name, key, text, unit in named]
    few = slice(0, 5)
    begin_degC = float(sink_degC[few].mean())
    if still:
        over_K = float(mount_degC[few].mean()) - begin_degC
        return [
            *knobs,
            Knob(_AIR, begin_degC, "", "the air", "degC", scales=False),
            Knob(_OVER, over_K, "", "mount's sensor over the sink's", "K", scales=False),
        ]
    mount_0 = float(mount_degC[few].mean())
    return [
        *knobs,
        Knob(_AIR, min(begin_degC, driven.start(_AIR)), "", "the air", "degC", scales=False),
        Knob(_BEGIN_MOUNT, mount_0, "", "the mount at the start", "degC", scales=False),
        Knob(_BEGIN_SINK, begin_degC, "", "the sink at the start", "degC", scales=False),
    ]


def _suggested(record: Record, solution: Solution, share: float) -> tuple[Suggested, ...]:
    """Return build keys with their values; the pad stays, the rest of the way takes what is found.

    A way that is found shorter than the build's pad leaves the interface no room: then the pad and
    the interface shrink alike. `share` is what the heat may be off [share, two deviations].
    """
    heat, rows = record.build.heat, []
    for each in solution.every:
        if not each.knob.key or each.kept:
            continue
        unit, value = each.knob.unit, each.value
        total = each.spread if unit == "s" else math.hypot(each.spread, share * value)
        left = value - heat.mount_pad_K_W
        if each.knob.name != "mount_sink_K_W":
            rows.append(Suggested(each.knob.key, value, each.spread, total, unit))
        elif left >= _LEAST_K_W:
            rows.append(Suggested(each.knob.key, left, each.spread, total, unit))
        else:
            part = value / each.knob.start
            pad, rest = part * heat.mount_pad_K_W, part * heat.interface_K_W
            rows.append(Suggested("heat.mount_pad_K_W", pad, each.spread, total, unit))
            rows.append(Suggested(each.knob.key, rest, each.spread, total, unit))
    return tuple(rows)


def _no_sharper_than_rows(solution: Solution, time_s: Values) -> Solution:
    """Return it with a lag that is no better known than when the light came and went.

    Each edge lies anywhere between two rows.
    """
    row_s = float(np.median(np.diff(time_s)))
    every = tuple(
        replace(each, spread=math.hypot(each.spread, row_s / 2))
        if each.knob.name == "ntc_lag_s" and not each.kept
        else each
        for each in solution.every
    )
    return replace(solution, every=every)


def _notes(
    record: Record, solution: Solution, time_s: Values, lit: Flags, still: bool
) -> tuple[str, ...]:
    """Return what else a reader must know."""
    last = len(lit) - int(np.argmax(lit[::-1] > 0))
    lit_s = float(time_s[last - 1] - time_s[int(np.argmax(lit))])
    cool_s = float(time_s[-1] - time_s[last - 1])
    notes = [
        f"junction to mount stays at {record.build.heat.junction_mount_K_W:g} K/W: "
        "no reading shows the junction",
        f"pad of {record.build.heat.mount_pad_K_W:g} K/W stays: only the whole way from mount "
        "to sink is seen",
    ]
    if cool_s < _COOL_SHARE * lit_s:
        notes.append(f"hardly a cool-down in it ({cool_s:.0f} s): all rests on the heat-up")
    if not still:
        notes.append(
            "it does not begin with a rest long enough to know the air by: the air is taken from "
            "the rest of the curve"
        )
    return tuple(notes)
