"""The diode: forward voltage, light and heat, for a laser diode or an LED (threshold 0).

Equations. ``V = a + b ln((I + I_f)/1 A) + I Rs + tc (Tj - Tref)``, I_f a small floor: above it
this is the trade's ``a + b ln I + I Rs`` (it differs by b I_f/I), below it the voltage settles
at the knee, so that zero current is safe and the curve is strictly rising. b = n kT/q; b = 0 is
a straight line. Light ``P = eta (I - I_th)`` above threshold, ``I_th = I0 exp((Tj - Tref)/T0)``,
``eta = eta0 exp(-(Tj - Tref)/T1)``; both T0 and T1 may be negative (InGaN threshold currents
that fall with temperature are published). Heat is V I - P, never V I. While lit, logarithm and
exponentials are continued from one sub-step to the next (`near`), to the last digits the same.

Source. Laser-diode textbook laws; T0 = 170 K for InGaN: Nakamura 1997 (abstract).

Validity. From about threshold to the rated current; -60 to +400 degC (beyond, the laws are
evaluated at those ends). Left out: thermal roll-over beyond what T0 and T1 give, spontaneous
light below threshold, kinks, spectrum, reverse voltage, facet damage (microseconds; see the
peak current), ageing within a run (`threshold_factor` and `light_factor` set it).
"""

import math

from diodewright.plant.kernel import Record, kernel
from diodewright.plant.near import exp_near, is_near, log_near

DIODE_MIN_degC = -60.0
DIODE_MAX_degC = 400.0


@kernel
def law_rise_K(p: Record, x: Record) -> float:
    """Return the junction over the reference [K], held to the laws' range."""
    junction_degC = x.junction_degC
    if junction_degC > DIODE_MAX_degC:
        junction_degC = DIODE_MAX_degC
    if junction_degC < DIODE_MIN_degC:
        junction_degC = DIODE_MIN_degC
    return float(junction_degC - p.diode_ref_degC)


@kernel
def knee_V(p: Record, x: Record) -> float:
    """Return the forward voltage [V] at no current; 0 for a shorted diode."""
    if p.diode_short > 0.5:
        return 0.0
    return float(p.diode_knee_V + p.diode_tempco_V_K * law_rise_K(p, x))


@kernel
def diode_slope_ohm(p: Record) -> float:
    """Return the diode's series resistance [ohm], or what a short leaves."""
    if p.diode_short > 0.5:
        return float(p.diode_short_ohm)
    return float(p.diode_rs_ohm)


@kernel
def forward_V(p: Record, knee: float, current_A: float) -> float:
    """Return the forward voltage [V] at `current_A` [A, not negative] above a `knee` [V]."""
    if p.diode_short > 0.5:
        return float(current_A * p.diode_short_ohm)
    volts = knee + current_A * p.diode_rs_ohm
    if p.diode_b_V > 0.0:
        volts += p.diode_b_V * math.log(1.0 + current_A / p.diode_floor_A)
    return float(volts)


@kernel
def forward_slope_ohm(p: Record, current_A: float) -> float:
    """Return dV/dI [ohm] at `current_A` [A]."""
    slope_ohm = diode_slope_ohm(p)
    if p.diode_short < 0.5:
        slope_ohm += p.diode_b_V / (current_A + p.diode_floor_A)
    return slope_ohm


@kernel
def lit_V(p: Record, x: Record, knee: float, current_A: float) -> float:
    """Return `forward_V`, its logarithm continued from the sub-step before (`near`)."""
    if p.diode_short > 0.5 or p.diode_b_V <= 0.0:
        return forward_V(p, knee, current_A)
    bend = 1.0 + current_A * p.diode_floor_1_A
    u = bend * x.log_from_1 - 1.0
    if not is_near(u):
        x.log_from_1 = 1.0 / bend
        x.log_there = math.log(bend)
        u = 0.0
    return float(knee + current_A * p.diode_rs_ohm + p.diode_b_V * (x.log_there + log_near(u)))


@kernel
def threshold_now_A(p: Record, x: Record, rise_K: float) -> float:
    """Return the threshold [A] at `rise_K` [K] over the reference."""
    exponent = rise_K * p.threshold_1_K
    u = exponent - x.threshold_from
    if not is_near(u):
        x.threshold_from = exponent
        x.threshold_there = math.exp(exponent)
        u = 0.0
    return float(p.threshold_A * p.threshold_factor * x.threshold_there * exp_near(u))


@kernel
def slope_now_W_A(p: Record, x: Record, rise_K: float) -> float:
    """Return the slope of light [W/A] at `rise_K` [K] over the reference."""
    exponent = -rise_K * p.slope_1_K
    u = exponent - x.slope_from
    if not is_near(u):
        x.slope_from = exponent
        x.slope_there = math.exp(exponent)
        u = 0.0
    return float(p.slope_W_A * p.light_factor * x.slope_there * exp_near(u))


@kernel
def shine(p: Record, x: Record) -> None:
    """Set light, electrical power and heat from `diode_A`, `diode_V` and the junction.

    Light never exceeds the electrical power: figures that would say so are not a diode's.
    """
    x.diode_W = x.diode_V * x.diode_A
    x.light_W = 0.0
    if x.diode_A > 0.0 and p.diode_short < 0.5:
        rise_K = law_rise_K(p, x)
        over_A = x.diode_A - threshold_now_A(p, x, rise_K)
        if over_A > 0.0:
            x.light_W = slope_now_W_A(p, x, rise_K) * over_A
            if x.light_W > x.diode_W:
                x.light_W = x.diode_W
    x.heat_W = x.diode_W - x.light_W
