"""What the pack gives: current against rating, sag, minutes of light, days on the shelf."""

from diodewright.build import CHEMISTRIES, Build
from diodewright.derive.electrics import cold_hold_A
from diodewright.plant.pack import constant_power_A, standing_load_W
from diodewright.size.descent import Descent, descend
from diodewright.size.discharge import run_down
from diodewright.size.figure import Figure
from diodewright.size.survey import Survey, cold_corner
from diodewright.size.working import lit_state, plant_of

__all__ = ["pack", "rated_pack_A", "shelf", "short_circuit_A"]

_DAY_S = 86_400.0


def rated_pack_A(build: Build) -> float:
    """Return what the pack's cells may give [A] without end; the supply's limit on a bench."""
    if build.pack.kind == "bench_supply":
        return build.pack.supply_limit_A
    return build.pack.discharge_continuous_A * build.pack.parallel


def short_circuit_A(build: Build, cold: bool = False) -> float:
    """Return what a full pack gives [A] into a short behind its wiring; a cold one less."""
    pack, p = build.pack, plant_of(build)
    cells_ohm = (p.pack_fast_ohm - p.wiring_ohm) * (pack.cold_factor if cold else 1.0)
    volts = pack.series * CHEMISTRIES[str(pack.chemistry)].rested_full_V
    return float(volts / (cells_ohm + p.wiring_ohm))


def shelf(build: Build) -> tuple[float, float]:
    """Return drain [A] and time [s] of a full pack with the controller on and no light.

    Down to the lockout, on the plant's own curve and controller.
    """
    p, x = plant_of(build), lit_state(50.0)
    x.indicator_lit = 0.0
    load_W = standing_load_W(p, x, build.limits.pack_lockout_V)
    found = run_down(
        p,
        lambda source_V, ohm: constant_power_A(source_V, ohm, load_W),
        build.limits.pack_lockout_V,
        100.0,
    )
    charge_C = (100.0 - found.left_pct) / 100 / p.soc_per_C
    return float(charge_C / found.light_s), found.light_s


def _minutes(build: Build, down: Descent, cold: Descent) -> list[Figure]:
    rows = [
        Figure(
            "battery_min",
            down.full_s / 60,
            "min",
            "full level, until the pack cuts it back",
            "heat, ageing; the estimate's lag",
        ),
        Figure(
            "to_lockout_min",
            down.light_s / 60,
            "min",
            f"all light, until {down.ends}",
            "the same",
        ),
        Figure(
            "cold_full_min",
            cold.full_s / 60,
            "min",
            "full level in the coldest air, highest diode",
            f"cells of {build.pack.cold_factor:g} times the resistance; the charge that cold takes",
        ),
    ]
    if down.rows:
        last = down.rows[-1]
        rows.append(
            Figure("end_pack_V", last.pack_V, "V", "at the stage's input, end of the light")
        )
    if down.short_pct is not None:
        said = "left when headroom begins to cut the level"
        rows.append(Figure("dropout_charge_pct", down.short_pct, "%", said))
    return rows


def pack(build: Build, found: Survey) -> list[Figure]:
    """Return the pack's figures; a bench supply has only its current."""
    cool = found.cool
    rows = [Figure("pack_current_A", cool.pack_A, "A", "from a full pack, with the controller")]
    down, cold = descend(build), descend(build, cold_corner(build))
    if down is None or cold is None:
        return rows
    sag_V = cool.pack_A * build.pack.wiring_mohm / 1000 + cool.cells_W / cool.pack_A
    drain_A, shelf_s = shelf(build)
    return [
        *rows,
        Figure(
            "pack_highest_A",
            found.pack_A,
            "A",
            "highest on the way down, warm or cold",
            "makers rate cells lower in the cold, one an 18650 at 0.5 C below 5 degC",
        ),
        Figure(
            "pack_rate_C",
            found.pack_A / (build.pack.capacity_Ah * build.pack.parallel),
            "C",
            "the same over the pack's capacity",
        ),
        Figure("sag_V", sag_V, "V", "of a full pack, slow part and wiring too"),
        *_minutes(build, down, cold),
        Figure(
            "cold_hold_A",
            cold_hold_A(build),
            "A",
            "what a cold pack at its lockout holds up",
            "diode of highest voltage; the charge that the cold takes",
        ),
        Figure(
            "standby_mA",
            1000 * drain_A,
            "mA",
            "controller on, no light",
            "regulator's loss, dividers; the reference controller's usual draw",
        ),
        Figure(
            "shelf_days",
            shelf_s / _DAY_S,
            "d",
            "so, to the lockout: take the pack out",
            "self-discharge, from memory some per cent a month",
        ),
    ]
