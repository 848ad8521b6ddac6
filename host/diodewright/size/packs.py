"""The same load on other packs: sag, current against rating, minutes of light, and what gives way.

The load is the build's diode at its highest level behind the build's stage and wiring; the cells
are the catalogue's. Every physical equation is the plant's, called.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from diodewright.build import CHEMISTRIES, Build, Part, parts
from diodewright.build.keys import Computed
from diodewright.derive.electrics import (
    STAGE_EFFICIENCY,
    highest_level_A,
    pack_load_A,
    parameters,
    settle_on_mount,
    stage_ohm,
)
from diodewright.plant.pack import collapses
from diodewright.size.discharge import run_down

__all__ = ["COMPARED", "LEAVES_OUT", "Load", "PackRow", "compare_packs", "load_of"]

#: Part of the catalogue, cells in series, what people call it.
COMPARED: tuple[tuple[str, int, str], ...] = (
    ("alkaline_aaa", 2, "2 alkaline AAA"),
    ("nimh_aaa_700", 2, "2 NiMH AAA"),
    ("li_ion_10440_320", 1, "1 Li-ion 10440"),
    ("li_ion_10440_320", 2, "2 Li-ion 10440"),
    ("li_ion_14500_800", 1, "1 Li-ion 14500"),
    ("li_ion_14500_800", 2, "2 Li-ion 14500"),
    ("li_ion_18650_2600", 1, "1 Li-ion 18650"),
    ("li_ion_18650_2600", 2, "2 Li-ion 18650"),
)
LEAVES_OUT = (
    "warm, new cells at the catalogue's typical values; full level all the time and no cutback: "
    "the light ends where a cell reaches its own cut-off or the stage drops out; the controller's "
    "own draw is left out, and whether the stage stands its heat is not asked",
    "beyond its rating a cell heats, sags more than told and gives less than its capacity "
    "(an alkaline one far less): minutes there are at most",
    f"a switching stage's efficiency is taken as {STAGE_EFFICIENCY:.2f}",
)
#: A light that ends with more charge than this left ends for want of volts, not of charge.
_SHORT_PCT = 20.0


@dataclass(frozen=True)
class Load:
    """What every pack is asked for.

    Attributes
    ----------
    level_A : the build's highest level, through the diode.
    output_V : at the stage's output, diode typical and on a mount at ambient.
    output_W : given there, the loss in the stage's own shunt besides (as in the size summary).
    needed_V : least terminal voltage from which the stage can still give that.
    """

    level_A: float
    output_V: float
    output_W: float
    needed_V: float


@dataclass(frozen=True)
class PackRow:
    """One pack under the load.

    Attributes
    ----------
    pack : what people call it.
    part : the catalogue's name; "" for the build's own cells.
    series, parallel : of how many cells.
    rested_V : a full pack without load.
    loaded_V, sag_V : a full pack once its slow part has followed; None where it can't drive.
    pack_A : highest current on the way down; where it can't drive, what the load would take
        of such a pack without any sag.
    rated_A, rated_source : highest continuous current that its cells allow, and who says so.
    ratio : `pack_A` over `rated_A`.
    light_s : from full to the end of the light.
    left_pct : charge left then.
    lost_W : heat of the stage on a full pack.
    verdict : "fits", "short of volts", "beyond rating" or "can't drive".
    finding : in words why it does not fit, all reasons; "" where it does.
    """

    pack: str
    part: str
    series: int
    parallel: int
    rested_V: float
    loaded_V: float | None
    sag_V: float | None
    pack_A: float
    rated_A: float
    rated_source: str
    ratio: float
    light_s: float
    left_pct: float
    lost_W: float | None
    verdict: str
    finding: str


def load_of(build: Build) -> Load:
    """Return what `build` asks of any pack at its highest level."""
    p, level_A = parameters(build), highest_level_A(build)
    warm = settle_on_mount(p, level_A, build.heat.ambient_degC)
    output_V = warm.volts_V + level_A * float(p.series_ohm + p.a_ohm)
    output_W = level_A * (output_V + level_A * float(p.own_shunt_ohm))
    return Load(level_A, output_V, output_W, output_V + level_A * stage_ohm(build))


def _with_cells(build: Build, part: Part, series: int) -> Build:
    """Return `build` on `series` cells of the catalogue, one string; its wiring stays."""
    values = {value.key: value.value for value in part.values}
    for key, (default, _) in CHEMISTRIES[str(values["chemistry"])].defaults.items():
        if isinstance(default, Computed):
            follows = default.rule(*(values[need] for need in default.needs))
            values.setdefault(key, follows)
        else:
            values.setdefault(key, default)
    cells = {"kind": "cells", "part": part.name, "series": series, "parallel": 1}
    full = {"start_charge_pct": 100.0, "resistance_min_mohm": math.nan}
    return replace(build, pack=replace(build.pack, **(values | cells | full)))  # type: ignore[arg-type]


def _rated_source(build: Build) -> str:
    """Return where the build's own rating of its cells is from."""
    assumed = {row.key: row.source for row in build.assumed}
    return assumed.get("pack.discharge_continuous_A", "the build file")


def _packs(build: Build) -> Iterator[tuple[str, str, str, Build]]:
    """Yield name, part, source of the rating and build of every pack: the build's own first."""
    if build.pack.kind == "cells":
        full = replace(build.pack, start_charge_pct=100.0)
        of = replace(build, pack=full)
        yield "own cells", build.pack.part or "", _rated_source(build), of
    by_name = {part.name: part for part in parts("pack.part")}
    for name, series, said in COMPARED:
        rated = by_name[name].value("discharge_continuous_A")
        source = rated.source if rated else ""
        yield said, name, source, _with_cells(build, by_name[name], series)


def _row(load: Load, said: str, part: str, rated_source: str, build: Build) -> PackRow:
    pack, p = build.pack, parameters(build)

    def draws_A(source_V: float, ohm: float) -> float:
        return pack_load_A(build, load.output_W, source_V, ohm)

    floor_V = max(load.needed_V, pack.series * pack.cell_min_V)
    found = run_down(p, draws_A, floor_V, 100.0)
    rested_V = pack.series * CHEMISTRIES[str(pack.chemistry)].rested_full_V
    ohm = float(p.pack_fast_ohm + p.pack_slow_ohm)
    taken_A = draws_A(rested_V, ohm)
    loaded_V = rested_V - taken_A * ohm
    lit = not math.isnan(found.highest_A)
    asked_A = found.highest_A if lit else draws_A(rested_V, 0.0)
    row = PackRow(
        pack=said,
        part=part,
        series=pack.series,
        parallel=pack.parallel,
        rested_V=rested_V,
        loaded_V=loaded_V if lit else None,
        sag_V=taken_A * ohm if lit else None,
        pack_A=asked_A,
        rated_A=pack.discharge_continuous_A * pack.parallel,
        rated_source=rated_source,
        ratio=asked_A / (pack.discharge_continuous_A * pack.parallel),
        light_s=found.light_s,
        left_pct=found.left_pct,
        lost_W=loaded_V * taken_A - load.level_A * load.output_V if lit else None,
        verdict="fits",
        finding="",
    )
    short = ""
    if not lit:
        watts = load.output_W / STAGE_EFFICIENCY
        switching = build.stage.kind != "linear"
        short = _short(row, loaded_V, floor_V, switching and collapses(rested_V, ohm, watts))
    reasons = list(_reasons(row, short, floor_V, floor_V == load.needed_V))
    if not reasons:
        return row
    return replace(row, verdict=reasons[0][0], finding="; ".join(said for _, said in reasons))


def _short(row: PackRow, loaded_V: float, floor_V: float, collapsed: bool) -> str:
    """Return what a full pack that can't drive the load has instead, in words."""
    if row.rested_V < floor_V:
        return f"full and at rest it has {row.rested_V:.2f} V"
    if collapsed:
        return "full it collapses: it can't give that power at any voltage"
    return f"full it sags to {loaded_V:.2f} V"


def _reasons(row: PackRow, short: str, floor_V: float, by_diode: bool) -> Iterator[tuple[str, str]]:
    """Yield verdict and reason of everything that keeps a pack from fitting, the worst first.

    `short` says what the pack has instead of `floor_V` [V], "" where it drives the load;
    `by_diode` whether that floor is the diode's and not the cells' own.
    """
    needed = "diode and dropout need" if by_diode else "its cells must not fall below"
    if short:
        yield "can't drive", f"{needed} {floor_V:.2f} V, {short}"
    if row.ratio > 1:
        times = f"{row.pack_A:.2f} A is {row.ratio:.2f} times the {row.rated_A:.2f} A"
        yield "beyond rating", f"{times} that its cells allow ({row.rated_source})"
    if not short and by_diode and row.left_pct > _SHORT_PCT:
        ends = f"the light ends with {row.left_pct:.0f} % of charge left"
        yield "short of volts", f"{needed} {floor_V:.2f} V: {ends}"


def compare_packs(build: Build) -> tuple[Load, tuple[PackRow, ...]]:
    """Return the build's load and what each pack makes of it, its own cells first."""
    load = load_of(build)
    return load, tuple(_row(load, *pack) for pack in _packs(build))
