"""The healthy use: from a rested lamp through press, rise, heat, cutback and release.

The pack starts at the charge from which this very use runs it down into its cutback, so that one
run shows both ends; faults branch from a second run on a full pack, where edges are steepest.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from diodedriver import words
from diodewright.build import Build
from diodewright.derive import plant_values, settings
from diodewright.derive.electrics import (
    charge_for_volts,
    cold_hold_A,
    highest_level_A,
    pack_load_A,
    parameters,
    settle_on_mount,
)
from diodewright.plant import record
from diodewright.sim import Engine, Event, Machine, Trace, lamp_use, new_tally, power_up
from diodewright.sim.machine import peek
from diodewright.sim.tally import NEVER, TALLY

__all__ = [
    "PRESS_S",
    "REST_S",
    "USE_S",
    "Use",
    "first_cause",
    "rested",
    "run_use",
    "start_charge",
    "tail_charge",
    "tally_values",
]

#: Rest with the controller on, so that the heat budget has emptied [s].
REST_S = 1800
#: From the end of the rest to the press [s].
PRESS_S = 1
#: The light asked for in one use [s].
USE_S = 600
#: Share of the pack's charge that a use may take before its cutback shows.
_BEFORE_CUTBACK = 0.2


@dataclass(frozen=True)
class Use:
    """One healthy use.

    Attributes
    ----------
    values : Tally quantities, with "light_first_minute_W" and "before_cutback_s".
    trace : 50 Hz, and 1 kHz around events and changes of mode.
    cause : a fault the law latched although nothing was broken, or None.
    modes : the law's modes that the use reached.
    judged : what the criteria see: `values`, but where a scenario's fault struck.
    latched : the first fault that the law latched, broken parts or not.
    """

    values: dict[str, float]
    trace: Trace
    cause: str | None
    modes: tuple[str, ...]
    judged: dict[str, float]
    latched: str | None


def dark_A(build: Build) -> float:
    """Return the current [A] below which the diode counts as dark: 1 % of the set-point."""
    return 0.01 * highest_level_A(build)


def provenance_of(build: Build, engine: Engine, seed: int) -> dict[str, object]:
    """Return what every Trace of a simulated run says of its origin."""
    return {
        "build": build.name,
        "fingerprint": build.fingerprint,
        "seed": seed,
        "law_hash": engine.law_hash,
        "engine": engine.name,
        "origin": "simulated",
    }


def tally_values(tally: record.Filled) -> dict[str, float]:
    """Return a Tally as a plain dictionary."""
    return {row.name: peek(tally, row.name) for row in TALLY}


def first_cause(tally: record.Filled) -> str | None:
    """Return the first row that latched, cleared since or not: a release clears some."""
    row = int(tally_values(tally)["first_cause"])
    return words.FAULTS[row - 1][0] if row else None


def rested(
    build: Build,
    engine: Engine,
    seed: int,
    soc: float,
    trip_A: float,
    rest_s: float = REST_S,
    air_degC: float | None = None,
) -> Machine:
    """Return a machine that has rested for `rest_s` [s] with the controller on.

    `soc` is its pack's charge [0 to 1]; `trip_A` [A] where its comparator trips: the lowest of
    its band for a healthy use, where it must not, and the highest under faults, where it must;
    `air_degC` [degC] the air, the build's own where None.
    """
    values = {**plant_values(build), "trip_A": trip_A}
    if air_degC is not None:
        values["ambient_degC"] = air_degC
    machine = power_up(engine, values, settings(build), {"soc": soc}, seed)
    machine.run(round(1000 * rest_s), new_tally(engine, dark_A(build)))
    return machine


def start_charge(build: Build) -> float:
    """Return the charge [0 to 1] that a use begins with; a bench supply is always full."""
    pack = build.pack
    return 1.0 if pack.kind == "bench_supply" else pack.start_charge_pct / 100


def tail_charge(build: Build, own: Mapping[str, int], share: float = _BEFORE_CUTBACK) -> float:
    """Return the charge from which a use reaches the pack's cutback before its end.

    `own` are the build's settings. The law's estimate lacks the sag that it does not compensate;
    that much is added to the voltage at which cutback begins, and `share` of a use's charge on top.
    """
    pack = build.pack
    if pack.kind == "bench_supply":
        return 1.0
    p = parameters(build)
    level_A = highest_level_A(build)
    volts = build.limits.pack_cutback_V
    output_W = settle_on_mount(p, level_A, build.heat.ambient_degC).electrical_W
    load_A = pack_load_A(build, output_W, volts, 0.0)
    unseen_ohm = p.pack_fast_ohm + p.pack_slow_ohm - own["sag_mohm"] / 1000
    empty = charge_for_volts(build, volts + load_A * unseen_ohm)
    taken = load_A * USE_S * share / (3600 * pack.capacity_Ah * pack.parallel)
    return min(start_charge(build), empty + taken)


def run_use(build: Build, engine: Engine, seed: int) -> Use:
    """Run the healthy use of `build` and return what it showed."""
    machine = rested(
        build, engine, seed, tail_charge(build, settings(build)), build.comparator.trip_min_A
    )
    press = machine.now + 1000 * PRESS_S
    delay = round(1000 * build.limits.delay_s)
    minute = press + 60_000 + delay
    release = press + 1000 * USE_S + delay
    tally = new_tally(engine, dark_A(build))
    provenance = provenance_of(build, engine, seed)
    events: tuple[Event, ...] = lamp_use(press, release)
    trace = machine.run(release + 5000, tally, events, provenance)
    if trace is None:
        raise RuntimeError("a run with provenance gives a Trace")
    values = tally_values(tally)
    light = trace["light_W"][trace["time_s"] >= minute / 1000]
    values["light_first_minute_W"] = float(light[0])
    values["cold_hold_A"] = cold_hold_A(build)
    values["shared_shunts"] = float(build.sensors.shunt == "shared")
    cut_s = values["first_heat_cut_s"]
    end_s = values["last_lit_s"] if cut_s == NEVER else cut_s
    values["before_cutback_s"] = end_s - values["first_lit_s"]
    codes = sorted({int(code) for code in trace["mode"]})
    cause = first_cause(tally)
    return Use(values, trace, cause, mode_names(codes), values, cause)


def mode_names(codes: list[int]) -> tuple[str, ...]:
    """Return the law's modes by name."""
    return tuple(words.MODES[code][0] for code in codes)
