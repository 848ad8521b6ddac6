"""Sections of the build file between the cells and the diode: what carries the current."""

from dataclasses import dataclass

from diodewright.build.cells import CHEMISTRY_WORDS, by_chemistry
from diodewright.build.keys import (
    PRACTICE,
    TYPICAL,
    When,
    choice,
    number,
    part,
    share_of,
    text,
    whole,
)

__all__ = ["Comparator", "Cutoffs", "Heading", "Pack", "Stage", "Switch"]

_CELLS: When = ("pack.kind", ("cells",))
_BENCH: When = ("pack.kind", ("bench_supply",))
_SET_INPUT: When = ("stage.kind", ("buck", "linear"))
_SWITCHING: When = ("stage.kind", ("buck", "gated"))
_LINEAR: When = ("stage.kind", ("linear",))
_GATED: When = ("stage.kind", ("gated",))


@dataclass(frozen=True, kw_only=True)
class Heading:
    """The keys at the top of the file."""

    format: int = whole(1, 1, "version of the build file's format")
    name: str = text("letters, digits, _ and -: results are filed under it", high=40)
    purpose: str = text("what the light is for", high=200, default="")
    parts_file: str = text(
        "parts of your own: a TOML file, looked for beside this one", high=200, default=""
    )


@dataclass(frozen=True, kw_only=True)
class Pack:
    """What feeds the stage: cells, or a current-limited bench supply for bring-up."""

    kind: str = choice(("cells", "bench_supply"), "what feeds the stage")
    part: str | None = part("cell of the catalogue that fills what is not given", when=_CELLS)
    chemistry: str | None = choice(CHEMISTRY_WORDS, "what the cells are made of", when=_CELLS)
    series: int = whole(1, 6, "cells in series", when=_CELLS)
    parallel: int = whole(1, 12, "strings in parallel", when=_CELLS)
    capacity_Ah: float = number(
        0.05, 100, "capacity of one cell, at the current that it will give", when=_CELLS
    )
    cell_resistance_mohm: float = number(
        1,
        2000,
        "one cell: direct-current value, warm and fresh (a 1 kHz value is lower: do not use it)",
        when=_CELLS,
    )
    discharge_continuous_A: float = number(
        0.01,
        500,
        "one cell: highest continuous current its maker allows",
        default=by_chemistry("discharge_continuous_A"),
        when=_CELLS,
    )
    cell_min_V: float = number(
        0.8, 3.7, "one cell: cut-off voltage", default=by_chemistry("cell_min_V"), when=_CELLS
    )
    cell_full_V: float = number(
        1.35,
        4.4,
        "one cell: fully charged, or new",
        default=by_chemistry("cell_full_V"),
        when=_CELLS,
    )
    polarisation_mohm: float = number(
        0,
        2000,
        "one cell: slow part of its resistance, besides the direct-current value",
        default=by_chemistry("polarisation_mohm"),
        when=_CELLS,
    )
    polarisation_s: float = number(
        0.05,
        10000,
        "time constant of the slow part",
        default=by_chemistry("polarisation_s"),
        when=_CELLS,
    )
    resistance_min_mohm: float = number(
        0.05,
        2000,
        "one cell: smallest plausible resistance; more would compensate sag too far",
        default=share_of("cell_resistance_mohm", 0.6),
        source=TYPICAL,
        when=_CELLS,
    )
    cold_factor: float = number(
        1,
        20,
        "how many times the resistance grows in a cold or aged cell",
        default=by_chemistry("cold_factor"),
        when=_CELLS,
    )
    start_charge_pct: float = number(
        1, 100, "state of charge at the start", default=100.0, source="a full pack", when=_CELLS
    )
    wiring_mohm: float = number(0, 10000, "holder, leads, fuse and reverse protection together")
    supply_V: float = number(1, 20, "bench supply: set voltage", when=_BENCH)
    supply_limit_A: float = number(0.01, 20, "bench supply: current limit", when=_BENCH)


@dataclass(frozen=True, kw_only=True)
class Stage:
    """The current source, which regulates on a shunt of its own.

    A buck or a linear stage has a set input; a gated one is a module of one fixed current.
    """

    kind: str = choice(("buck", "linear", "gated"), "how the current is made")
    module_A: float = number(0.01, 10, "the module's current: the one level there is", when=_GATED)
    module_tolerance_pct: float = number(0, 30, "its current, part to part and warm", when=_GATED)
    module_rise_ms: float = number(0, 1000, "its own soft-start, from nothing to full", when=_GATED)
    switching_kHz: float = number(10, 5000, "switching frequency", when=_SWITCHING)
    inductor_uH: float = number(
        0.1, 10000, "inductance; of a linear stage: choke and leads of the diode's loop"
    )
    output_cap_uF: float = number(0.001, 1000, "output capacitor")
    full_scale_A: float = number(
        0.01, 10, "what the set path asks for at full duty and the highest rail", when=_SET_INPUT
    )
    own_shunt_mohm: float = number(0.1, 10000, "shunt that the stage regulates on")
    set_accuracy_pct: float = number(
        0, 20, "accuracy of the set path, current asked for to current", when=_SET_INPUT
    )
    set_filter_ms: float = number(
        0.001, 100, "time constant of each of the set path's two poles", when=_SET_INPUT
    )
    startup_ms: float = number(0, 1000, "from enable to first current")
    pass_mohm: float = number(0.1, 10000, "pass MOSFET at 25 degC, fully on", when=_LINEAR)
    pass_sink_K_W: float = number(
        0.05, 500, "channel of the pass MOSFET to the diode's sink, on which it sits", when=_LINEAR
    )
    pass_thermal_s: float = number(
        0.0001, 10000, "time constant of that", default=1.0, source=TYPICAL, when=_LINEAR
    )
    high_side_mohm: float = number(
        0, 10000, "high-side switch, on and warm", default=50.0, source=TYPICAL, when=_SWITCHING
    )
    low_side_mohm: float = number(
        0, 10000, "low-side switch, on and warm", default=50.0, source=TYPICAL, when=_SWITCHING
    )
    inductor_mohm: float = number(
        0, 10000, "winding of the inductor", default=50.0, source=TYPICAL, when=_SWITCHING
    )
    switching_loss_W: float = number(
        0,
        10,
        "switching loss at full current and full pack",
        default=0.1,
        source=TYPICAL,
        when=_SWITCHING,
    )
    quiescent_mA: float = number(
        0, 1000, "what the enabled stage draws for itself", default=2.0, source=TYPICAL
    )
    loop_ms: float = number(
        0.001, 100, "time constant of the current loop", default=0.05, source=TYPICAL
    )
    input_max_V: float = number(
        1,
        100,
        "largest input voltage of stage and controller's regulator, whichever is less",
        default=20.0,
        source=PRACTICE,
    )
    hold_up_uF: float = number(
        0.1,
        100000,
        "hold-up capacitor of the controller's supply, behind a diode of its own",
        default=330.0,
        source="two ticks of the law from one cell's 2.9 V; by an energy sum",
    )
    output_clamp_V: float | None = number(
        1, 100, "what the clamp across the output holds at the stage's current", default=None
    )
    overshoot_pct: float = number(
        0,
        200,
        "overshoot at turn-on, of the current asked for",
        default=0.0,
        source="taken as none: measure yours",
    )


@dataclass(frozen=True, kw_only=True)
class Cutoffs:
    """Cut-off A in the diode's return, and the dynamic enable that holds it."""

    a_part: str | None = part("MOSFET of the catalogue that fills what is not given")
    a_place: str = choice(
        ("diode_return", "pack_side"),
        "where cut-off A stands",
        refused=(
            (
                "pack_side",
                "on the pack's side it leaves the stage's input capacitor to feed the diode",
            ),
        ),
    )
    pulse_hold_ms: float = number(2, 20, "the dynamic enable drops this long after its last edge")
    a_rds_mohm: float = number(
        0.1, 1000, "on-resistance at 25 degC and the guaranteed gate voltage"
    )
    a_tempco_pct_K: float = number(0, 2, "its rise per kelvin, of its 25 degC value")
    a_theta_K_W: float = number(0.1, 500, "channel to air")
    a_thermal_s: float = number(
        0.0001, 10000, "time constant of its channel to air", default=1.0, source=TYPICAL
    )
    a_vgs_guaranteed_V: float = number(
        0.5, 20, "gate voltage at which the on-resistance is guaranteed"
    )
    a_threshold_min_V: float = number(
        0.1,
        5,
        "lowest gate threshold at 25 degC",
        default=0.65,
        source="a maker's data sheet of a 20 mohm MOSFET for 2.5 V; typical, no source",
    )
    a_vds_max_V: float = number(
        5, 200, "largest drain to source voltage", default=30.0, source=TYPICAL
    )
    a_pulldown_kohm: float = number(
        0.01,
        1000,
        "from its gate to ground",
        default=4.7,
        source="largest that 120 uA of a leaking pin allow; by Ohm's law",
    )
    loop_uH: float = number(
        0.01,
        100,
        "wiring of the diode's loop: output capacitor, diode, cut-off A and back",
        default=0.3,
        source="0.3 m at about 1 uH/m; common practice, no source",
    )


@dataclass(frozen=True, kw_only=True)
class Comparator:
    """The hardware trips, which act in microseconds where firmware can't."""

    trip_min_A: float = number(
        0.005, 20, "over-current: lowest trip over tolerance and temperature"
    )
    trip_max_A: float = number(
        0.005, 20, "over-current: highest trip over tolerance and temperature"
    )
    delay_us: float = number(0.01, 100, "from crossing the trip to an open cut-off A")
    over_voltage_V: float = number(0.5, 20, "over-voltage trip at the stage's output")


@dataclass(frozen=True, kw_only=True)
class Switch:
    """The contact under the finger."""

    rated_A: float = number(0.001, 100, "rated current of the trigger's contact")
