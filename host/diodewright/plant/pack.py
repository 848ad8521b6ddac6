"""The pack: cells with their resistances and state of charge, or a bench supply.

Equations. Open-circuit voltage: straight lines between the points of the cell's curve, times
cells in series. Equivalent circuit of one RC (Thevenin): ``V = OCV - I R0 - u``,
``u' = I R1 + (u - I R1) exp(-dt/tau)``. Strings in parallel share the current evenly. A load of
constant power P behind the resistance R draws ``I = (OCV - sqrt(OCV^2 - 4 R P)) / (2 R)``; above
``P_max = OCV^2 / 4R`` there is no such current and the supply has collapsed to OCV/2R.

Source. Circuit and its step: equivalent-circuit practice, checked against the closed form; the
split of a lithium-ion cell's resistance and tau = 30.55 s come from the equivalent-circuit
example set of PyBaMM 26.10. The curve is the chemistry's: its points and their sources stand with
the build's chemistries.

Validity. Minutes to hours at up to about 2C, alkaline cells up to about C/2; the curve holds at
its own temperature. Against an electrochemical model of a 5 Ah cell (a test has the fixture): the
terminals within 1 % through load and recovery from a fifth of charge up, below that up to 45 mV
low (the curve is a straight line between its points); but a cell of unknown polarisation, which
gets another cell's, sags a fifth less after five minutes of load than it should, and at a fifth
of the one-hour current some 10 mV less at once (reaction kinetics are no plain resistance).
Left out: hysteresis (some 50 mV of a nickel-metal hydride cell), the loss of
an alkaline cell's capacity at high current, ageing within a run, cells that differ within a pack,
self-heating, dependence of R on charge (it rises below a tenth; use `cell_R_factor`), voltages
under an empty cell's, any protection circuit, the stage's input capacitor.
"""

import math

from diodewright.plant.factors import LAST_OCV_POINT
from diodewright.plant.kernel import Record, kernel

CONTROLLER_MIN_V = 1.0


@kernel
def cell_ocv_V(p: Record, soc: float) -> float:
    """Return one cell's open-circuit voltage [V] at state of charge `soc` [0 to 1]."""
    k = 1
    while k < LAST_OCV_POINT and soc > p.ocv_soc[k]:
        k += 1
    return float(p.ocv_V[k] + (soc - p.ocv_soc[k]) * p.ocv_slope_V[k])


@kernel
def pack_source_V(p: Record, x: Record) -> float:
    """Return the voltage [V] behind `pack_fast_ohm`; 0 when the pack is not connected."""
    if p.pack_connected < 0.5:
        x.pack_ocv_V = 0.0
        return 0.0
    if p.pack_kind == 0.0:
        x.pack_ocv_V = p.cells_series * cell_ocv_V(p, x.soc)
        return float(x.pack_ocv_V - x.pack_slow_V)
    x.pack_ocv_V = p.bench_V
    return float(p.bench_V)


@kernel
def collapses(source_V: float, source_ohm: float, power_W: float) -> bool:
    """Return whether `power_W` [W] is more than a source [V], [ohm] can give at all."""
    return 4.0 * source_ohm * power_W > source_V * source_V


@kernel
def constant_power_A(source_V: float, source_ohm: float, power_W: float) -> float:
    """Return the current [A] of a load of `power_W` [W] at a source of [V] behind [ohm].

    Written as ``2P / (V + sqrt(V^2 - 4RP))``, the same root without the loss of digits at small
    R. In collapse it is V/2R, the current at the largest power.
    """
    if source_V <= 0.0:
        return 0.0
    inside = source_V * source_V - 4.0 * source_ohm * power_W
    if inside < 0.0:
        return source_V / (2.0 * source_ohm)
    return 2.0 * power_W / (source_V + math.sqrt(inside))


@kernel
def draw(p: Record, x: Record, source_V: float, load_W: float) -> None:
    """Set pack current and voltage for a constant power `load_W` [W] at `source_V` [V].

    A bench supply gives no more than its limit; what a running stage then does is the stage's.
    """
    x.pack_A = constant_power_A(source_V, p.pack_fast_ohm, load_W)
    if p.pack_kind != 0.0 and x.pack_A > p.bench_limit_A:
        x.pack_A = p.bench_limit_A
    x.pack_V = source_V - x.pack_A * p.pack_fast_ohm


@kernel
def draw_beside(p: Record, x: Record, source_V: float, current_A: float, load_W: float) -> bool:
    """Set pack current and voltage for `current_A` [A] and a constant power `load_W` [W] beside it.

    Return False where this pack can't give both: collapse, or a bench supply at its limit.
    """
    left_V = source_V - current_A * p.pack_fast_ohm
    given = left_V > 0.0 and not collapses(left_V, p.pack_fast_ohm, load_W)
    x.pack_A = current_A + constant_power_A(left_V, p.pack_fast_ohm, load_W)
    if p.pack_kind != 0.0 and x.pack_A >= p.bench_limit_A:
        x.pack_A = p.bench_limit_A
        given = False
    x.pack_V = source_V - x.pack_A * p.pack_fast_ohm
    return given


@kernel
def standing_load_W(p: Record, x: Record, source_V: float) -> float:
    """Return what controller and lit indicator draw from the pack [W]; nothing on USB."""
    if p.usb > 0.5 or source_V < CONTROLLER_MIN_V:
        return 0.0
    return float(p.controller_W + x.indicator_lit * p.indicator_A * x.rail_V)


@kernel
def discharge(p: Record, x: Record, dt_s: float) -> None:
    """Take the sub-step's charge, `x.pack_A` over `dt_s` [s], out of the pack.

    The slow part is exact for a current held over the sub-step. Charge below empty is counted in
    `pack_C` but the state of charge stays at 0.
    """
    charge_C = x.pack_A * dt_s
    x.pack_C += charge_C
    if p.pack_kind == 0.0:
        full_V = x.pack_A * p.pack_slow_ohm
        x.pack_slow_V = full_V + (x.pack_slow_V - full_V) * p.pack_slow_decay
        left = x.soc - charge_C * p.soc_per_C
        x.soc = left if left > 0.0 else 0.0


@kernel
def follow_rail(p: Record, x: Record) -> None:
    """Move the controller's rail, `x.rail_V`, with the pack's voltage.

    The regulator holds its nominal voltage down to `rail_pack_min_V`; below, the rail falls in
    proportion, never faster than its hold-up lets it. Common practice, no source.
    """
    goal_V = p.rail_nominal_V
    if p.usb < 0.5 and x.pack_V < p.rail_pack_min_V:
        goal_V = p.rail_nominal_V * x.pack_V / p.rail_pack_min_V
    held_V = x.rail_V * p.rail_decay
    x.rail_V = goal_V if goal_V > held_V else held_V
