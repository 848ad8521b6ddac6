"""Which change buys most margin: the build again with one knob turned a step, limit by limit.

A turned knob is another build, checked as a file that says so would be; where it contradicts the
rest, that knob is not tried. Steps are of a size that a builder can take; they are not equally
dear, so that the answer is a place to begin and not an order.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from diodewright.build import Build, BuildErrors, parts, with_values
from diodewright.derive import DerivedError
from diodewright.derive.board import PIN_HIGH_V
from diodewright.size.limits import Limit, limits
from diodewright.size.survey import survey

__all__ = ["Buys", "Knob", "Marked", "knobs", "marked"]

#: A change that buys less of the limit than this is none.
_LEAST = 0.001
#: The best changes that are told of each row.
_TOLD = 3


@dataclass(frozen=True)
class Knob:
    """One change of a build: what people call the step, and the values that it writes."""

    step: str
    values: Mapping[str, object]


@dataclass(frozen=True)
class Buys:
    """One change for one limit: its step, and the margin that it leaves."""

    step: str
    margin: float


@dataclass(frozen=True)
class Marked:
    """A limit row with what buys it most margin, the best first; empty where no knob buys any."""

    row: Limit
    buys: tuple[Buys, ...]


def _currents(build: Build) -> Iterator[Knob]:
    """Yield the highest level (or a module's current) a tenth lower, its full scale with it."""
    if build.stage.kind == "gated":
        yield Knob("module 10 % lower", {"stage.module_A": 0.9 * build.stage.module_A})
        return
    name, level_A = build.levels.by_current[0]
    lower = {f"levels.{name}": 0.9 * level_A, "stage.full_scale_A": 0.9 * build.stage.full_scale_A}
    yield Knob("level 10 % lower", lower)
    less_pct = max(0.0, build.limits.authority_pct - 2.0)
    yield Knob("authority 2 % less", {"limits.authority_pct": less_pct})


def _scaled(build: Build) -> Iterator[Knob]:
    """Yield one value made smaller or larger by a share."""
    heat, pack, stage = build.heat, build.pack, build.stage
    yield Knob("sink 20 % better", {"heat.sink_air_K_W": 0.8 * heat.sink_air_K_W})
    yield Knob("sink 50 % heavier", {"heat.sink_J_K": 1.5 * heat.sink_J_K})
    if heat.mount_pad_K_W > 0:
        yield Knob("pad halved", {"heat.mount_pad_K_W": 0.5 * heat.mount_pad_K_W})
    yield Knob("interface halved", {"heat.interface_K_W": 0.5 * heat.interface_K_W})
    yield Knob("wiring 20 % less ohm", {"pack.wiring_mohm": 0.8 * pack.wiring_mohm})
    if pack.kind == "cells":
        less = {"pack.cell_resistance_mohm": 0.8 * pack.cell_resistance_mohm}
        yield Knob("cells 20 % less ohm", less)
    if stage.kind == "linear":
        yield Knob("pass MOSFET 20 % cooler", {"stage.pass_sink_K_W": 0.8 * stage.pass_sink_K_W})
    else:
        yield Knob("inductor 50 % larger", {"stage.inductor_uH": 1.5 * stage.inductor_uH})


def _shifted(build: Build) -> Iterator[Knob]:
    """Yield one value moved by an amount."""
    heat, limits_of, pack = build.heat, build.limits, build.pack
    cooler = heat.ambient_max_degC - 5.0
    air: dict[str, object] = {"heat.ambient_max_degC": cooler}
    air["heat.ambient_degC"] = min(heat.ambient_degC, cooler)
    yield Knob("warmest air 5 K less", air)
    usual = max(heat.ambient_degC - 5.0, heat.ambient_min_degC)
    yield Knob("usual air 5 K less", {"heat.ambient_degC": usual})
    trip = limits_of.mount_trip_degC
    earlier = {
        "limits.mount_trip_degC": trip - 2.0,
        "limits.mount_hot_degC": limits_of.mount_hot_degC - 2.0,
        "limits.mount_warm_degC": limits_of.mount_warm_degC - 2.0,
    }
    yield Knob("mount limits 2 K lower", earlier)
    later = {key: value + 4.0 for key, value in earlier.items()}
    yield Knob("mount limits 2 K higher", later)
    if pack.kind == "cells":
        cell_V = 0.1 * pack.series
        higher = {"limits.pack_cutback_V": limits_of.pack_cutback_V + cell_V}
        yield Knob("cutback 0.1 V a cell up", higher)
        ends = {
            "limits.pack_lockout_V": limits_of.pack_lockout_V + cell_V,
            "limits.pack_cutback_end_V": limits_of.pack_cutback_end_V + cell_V,
            "limits.pack_cutback_V": limits_of.pack_cutback_V + cell_V,
            "limits.pack_rearm_V": limits_of.pack_rearm_V + cell_V,
        }
        yield Knob("pack limits 0.1 V a cell up", ends)
        yield Knob("one string more", {"pack.parallel": pack.parallel + 1})
    else:
        yield Knob(
            "supply's limit 0.5 A higher", {"pack.supply_limit_A": pack.supply_limit_A + 0.5}
        )
        yield Knob("supply 0.5 V higher", {"pack.supply_V": pack.supply_V + 0.5})


def _mosfet(build: Build) -> Iterator[Knob]:
    """Yield the catalogue's MOSFET of least on-resistance that a pin can drive, if it is better."""
    best_mohm, best = build.cutoffs.a_rds_mohm, ""
    for part in parts("cutoffs.a_part"):
        needs_V, has_mohm = part.value("a_vgs_guaranteed_V"), part.value("a_rds_mohm")
        if needs_V is None or has_mohm is None or float(needs_V.value) > PIN_HIGH_V:  # type: ignore[arg-type]
            continue
        if float(has_mohm.value) < best_mohm:  # type: ignore[arg-type]
            best_mohm, best = float(has_mohm.value), part.name  # type: ignore[arg-type]
    if best:
        # what the file gives of the old part must give way to the new one's
        yield Knob(f"{best}", {"cutoffs.a_part": best, "cutoffs.a_rds_mohm": best_mohm})


def knobs(build: Build) -> tuple[Knob, ...]:
    """Return the changes that are tried of `build`."""
    return (*_currents(build), *_scaled(build), *_shifted(build), *_mosfet(build))


def _turned(build: Build) -> Iterator[tuple[Knob, Mapping[str, Limit]]]:
    """Yield each knob that the build bears, with the limit rows that it leaves."""
    for knob in knobs(build):
        try:
            yield knob, limits(with_values(build, knob.values))
        except (BuildErrors, DerivedError):
            continue


def _buys(row: Limit, turned: list[tuple[Knob, Mapping[str, Limit]]]) -> tuple[Buys, ...]:
    tried = [Buys(knob.step, rows[row.id].margin) for knob, rows in turned if row.id in rows]
    better = [buys for buys in tried if buys.margin > row.margin + _LEAST]
    return tuple(sorted(better, key=lambda buys: -buys.margin)[:_TOLD])


def marked(build: Build) -> tuple[Marked, ...]:
    """Return the limit rows of `build`, the tightest first, each with what buys it most.

    Raises
    ------
    DerivedError
        The build itself gives a settings word that the board would refuse.
    """
    rows = sorted(limits(build, survey(build)).values(), key=lambda row: row.margin)
    turned = list(_turned(build))
    return tuple(Marked(row, _buys(row, turned)) for row in rows)
