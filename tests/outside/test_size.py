"""The size room against published figures, closed forms, SciPy and the engine's own runs."""

import dataclasses
import itertools
import math

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp
from scipy.linalg import expm
from scipy.optimize import brentq

from diodewright.build import Build, examples, load, with_values
from diodewright.derive import plant_values, settings
from diodewright.derive.edges import INPUT_F, LEADS_H
from diodewright.derive.electrics import highest_level_A
from diodewright.plant import step
from diodewright.plant.factors import prepare
from diodewright.plant.params import PARAM_RECORD, STATE
from diodewright.plant.record import make
from diodewright.sim import Event, compiled, new_tally, power_up
from diodewright.size import against_drive, cold_to_hot, descend, over_current, size
from diodewright.size.life import _row, arrhenius
from diodewright.size.pack import shelf
from diodewright.size.survey import cold_corner
from diodewright.size.warming import (
    before_cut_s,
    duty_of,
    duty_period_s,
    felt_degC,
    kept_by_heat,
    light_after_W,
    sustained_pct,
)
from diodewright.size.wiring import FUSES_A, fuse_A, inrush_A2s, wire_mm2
from diodewright.size.working import Corner, plant_of, settled

LAMP = load("smoke_tunnel")


@pytest.mark.parametrize("name", examples())
def test_watts_by_part_add_up_to_what_the_pack_gives(name: str) -> None:
    # Conservation of energy; the bleeder's milliwatts have no row.
    rows = {row.id: row.value for row in size(load(name))}
    parts = ("electrical_W", "stage_W", "cutoff_a_W", "path_W", "wiring_W", "controller_W")
    assert sum(rows[part] for part in parts) == pytest.approx(rows["drawn_W"], rel=1e-3)


def test_a_published_blue_laser_diode_gives_its_light_heat_and_share() -> None:
    # A maker's data sheet of a 450 nm TO56 diode (V1.1, 2019): 1.6 W at 1.2 A, 4.8 V, threshold
    # 0.2 A; by hand 5.76 W, 4.16 W of heat, 27.8 %. CIE 1924: 25.95 lm/W at 450 nm.
    diode = dataclasses.replace(
        LAMP.diode,
        wavelength_nm=450.0,
        forward_points_A_V=((0.2, 4.3), (1.2, 4.8)),
        forward_tempco_mV_K=0.0,
        light_points_A_W=((0.7, 0.8), (1.2, 1.6)),
        threshold_T0_K=1e6,
        slope_T1_K=1e6,
    )
    at = settled(plant_of(dataclasses.replace(LAMP, diode=diode)), 1.2, 100.0, 25.0)
    assert at.light_W == pytest.approx(1.6, rel=5e-3)
    assert at.electrical_W == pytest.approx(5.76, rel=5e-3)
    assert at.heat_W == pytest.approx(4.16, rel=5e-3)
    assert 100 * at.light_W / at.electrical_W == pytest.approx(27.8, rel=5e-3)


def test_light_over_the_mount_follows_threshold_and_slope() -> None:
    # Ith = 0.25 exp(dT/170), eta = 0.85 exp(-dT/300) (laser-diode textbook laws; T0 as of Nakamura
    # 1997); V = 3.85 + 0.55 I - 3 mV/K dT, dT of the junction over 25 degC; the build's points of
    # it are rounded, and a logarithm is fitted to them.
    for row in cold_to_hot(LAMP):
        if row.current_A == 0.0:
            continue
        rise_K = row.junction_degC - 25.0
        light_W = 0.85 * math.exp(-rise_K / 300) * (row.current_A - 0.25 * math.exp(rise_K / 170))
        assert row.light_W == pytest.approx(max(light_W, 0.0), abs=2e-3)
        assert row.forward_V == pytest.approx(
            3.85 + 0.55 * row.current_A - 0.003 * rise_K, abs=1e-2
        )
        assert row.junction_degC == pytest.approx(row.mount_degC + 7.0 * row.heat_W, abs=1e-6)
    assert [row.current_A for row in cold_to_hot(LAMP)][-2:] == [0.3, 0.0]


def test_cut_off_a_settles_at_the_closed_form_of_its_self_heating() -> None:
    # Tj = (Ta + theta I^2 R25 (1 - 25 a)) / (1 - g): 5 A, 30 mohm, 62 K/W, 0.5 %/K, 40 degC gives
    # 105.1 degC, g 0.2325; runaway from 10.37 A.
    cutoffs = dataclasses.replace(LAMP.cutoffs, a_rds_mohm=30.0, a_theta_K_W=62.0)
    build = dataclasses.replace(LAMP, cutoffs=cutoffs)
    p = plant_of(build, Corner(40.0))
    assert settled(p, 5.0, 100.0, 40.0).a_degC == pytest.approx(105.13, rel=5e-4)
    p.cells_series, p.ocv_V = 6.0, [12.0] * 13
    p.diode_rs_ohm = 0.01
    p.ocv_slope_V = [0.0] * 13
    assert settled(p, 10.3, 100.0, 40.0).a_degC > 300
    assert settled(p, 10.5, 100.0, 40.0).a_degC > 400  # beyond what the plant's law is held to


def test_a_point_that_settles_against_the_air_solves_its_own_heat_balance() -> None:
    # Judge: SciPy's brentq on Tj = Ta + heat(Tj) (7 + 1.2 + 5) K/W, with the diode's laws by hand.
    def over_K(junction_degC: float) -> float:
        rise_K = junction_degC - 25.0
        light_W = 0.85 * math.exp(-rise_K / 300) * (1.5 - 0.25 * math.exp(rise_K / 170))
        heat_W = 1.5 * (3.85 + 0.55 * 1.5 - 0.003 * rise_K) - light_W
        return 30.0 + heat_W * 13.2 - junction_degC

    steady = settled(plant_of(LAMP), 1.5)
    assert steady.junction_degC == pytest.approx(brentq(over_K, 30, 200), abs=0.1)
    assert steady.sink_degC == pytest.approx(30.0 + 5.0 * steady.heat_W, abs=1e-6)


@pytest.mark.parametrize("name", ["smoke_tunnel", "cave_lamp", "gel_viewer"])
def test_a_settled_point_is_where_the_plants_own_steps_end(name: str) -> None:
    # Judge: the plant's sub-steps for 9 s, with masses made small so that all has settled.
    build, dt_s = load(name), 0.001
    soon = {"mount_J_K": 0.05, "sink_J_K": 0.05, "a_tau_s": 0.1, "cell_tau_s": 0.1}
    values = plant_values(build) | soon | {"cell_capacity_Ah": 100.0, "pass_tau_s": 0.05}
    p = make(PARAM_RECORD, values, compiled=False).record
    x = make(STATE, {"latch": 0, "enable_b": 1, "indicator": 1}, compiled=False).record
    prepare(p, dt_s)
    step.settle(p, x)
    level_A = highest_level_A(build)
    x.duty = level_A / p.set_full_A
    for _ in range(9000):
        x.pulse_edge = 1.0
        step.advance(p, x, dt_s)
    found = settled(plant_of(build), x.diode_A, 100 * x.soc)
    for mine, its in (
        (found.pack_A, x.pack_A),
        (found.pack_V, x.pack_V),
        (found.light_W, x.light_W),
        (found.stage_W, x.stage_loss_W),
        (found.junction_degC, x.junction_degC),
        (found.a_degC, x.a_degC),
    ):
        assert mine == pytest.approx(its, rel=1e-3)


#: A pack a tenth as large that sags as before, on a mount that stays cool: ten times as quick.
QUICK = {
    "heat.sink_air_K_W": 0.05,
    "heat.interface_K_W": 0.05,
    "heat.mount_pad_K_W": 0.0,
    "controls.auto_off_s": 86400.0,
}


def _quick(name: str) -> Build:
    pack = load(name).pack
    own = {
        "pack.capacity_Ah": pack.capacity_Ah / 10,
        "pack.polarisation_mohm": pack.polarisation_mohm,
        "pack.discharge_continuous_A": pack.discharge_continuous_A,
    }
    return with_values(load(name), QUICK | own)


@pytest.mark.parametrize(
    ("name", "cold"),
    [("smoke_tunnel", False), ("smoke_tunnel", True), ("cave_lamp", False), ("gel_viewer", False)],
)
def test_a_discharge_is_that_of_the_whole_simulated_light_under_its_law(
    name: str, cold: bool
) -> None:
    # Judge: the compiled engine, law and plant, pressed until it goes dark; cold: the coldest air,
    # cells of three times the resistance and a diode of highest voltage.
    build, engine = _quick(name), compiled()
    corner = cold_corner(build) if cold else Corner()
    level_A, down = highest_level_A(build), descend(build, corner)
    assert down is not None
    values = plant_values(build) | {
        "cell_R_factor": corner.cold_factor,
        "diode_spread_V": corner.spread_V,
    }
    if corner.air_degC is not None:
        values["ambient_degC"] = corner.air_degC
    machine = power_up(engine, values, settings(build), {"soc": 1.0}, 1)
    tally = new_tally(engine, 0.01 * level_A)
    machine.run(3000, tally)
    events = (Event(3000, "plant.trigger", 1.0),)
    lit_ms = cut_ms = 0
    seen: list[tuple[float, float, float, float]] = []
    while not lit_ms or machine.true("diode_A") > 0.01 * level_A:
        machine.run(machine.now + 500, tally, events)
        events = ()
        diode_A = machine.true("diode_A")
        if not lit_ms and diode_A > 0.95 * level_A:
            lit_ms = machine.now
        if lit_ms and not cut_ms and diode_A < 0.98 * level_A:
            cut_ms = machine.now
        seen.append((machine.true("soc"), machine.true("pack_V"), machine.true("pack_A"), diode_A))
        assert machine.now < 5_000_000
    light_s = (machine.now - lit_ms) / 1000
    full_s = ((cut_ms or machine.now) - lit_ms) / 1000
    assert down.full_s == pytest.approx(full_s, rel=0.03)
    assert down.light_s == pytest.approx(light_s, rel=0.03)
    for row in down.rows[20:-20:10]:
        _, pack_V, pack_A, diode_A = min(seen, key=lambda at: abs(at[0] - row.charge_pct / 100))
        assert row.pack_V == pytest.approx(pack_V, rel=0.01)
        assert row.pack_A == pytest.approx(pack_A, rel=0.06)
        assert row.diode_A == pytest.approx(diode_A, rel=0.06)


def test_short_of_headroom_the_light_is_dimmed_and_the_stage_never_drops_out() -> None:
    # By hand: 2.5 A through 15 + 20 + 50 mohm of pass MOSFET, shunt and choke need 0.21 V above the
    # output; the cave lamp's cell has it down to about a third of its charge.
    down = descend(load("cave_lamp"))
    assert down is not None and down.short_pct is not None
    assert 30 < down.short_pct < 38
    assert min(row.headroom_V for row in down.rows) > 1e-9
    dimmed = [row.diode_A for row in down.rows if row.charge_pct < down.short_pct - 1]
    assert max(dimmed) < 2.5
    tunnel = descend(LAMP)
    assert tunnel is not None and tunnel.short_pct is None


def test_the_duty_rating_of_one_lump_is_the_closed_form() -> None:
    # F 80 K, limit 60 K, tau 100 s, 60 s on: period 92.03 s, off 32.03 s, 65 % (geometric series).
    period_s = duty_period_s(80.0, 60.0, 100.0, 60.0)
    assert period_s == pytest.approx(92.03, abs=0.005)
    assert period_s - 60.0 == pytest.approx(32.03, abs=0.005)
    assert 100 * 60 / period_s == pytest.approx(65, abs=0.5)
    # from cold 1.386 tau is all; more needs endless rest, and what never gets there needs none
    assert duty_period_s(80.0, 60.0, 100.0, 138.5) > 500
    assert duty_period_s(80.0, 60.0, 100.0, 139.0) == math.inf
    assert duty_period_s(50.0, 60.0, 100.0, 60.0) == 60.0


def test_a_mount_that_is_one_with_its_sink_peaks_where_the_duty_rating_says() -> None:
    # With next to no pad between, the plant's path is the one lump of the rating.
    one = with_values(LAMP, {"heat.mount_pad_K_W": 0.0, "heat.interface_K_W": 0.1})
    duty = duty_of(one, settings(one))
    assert duty is not None
    assert abs(duty.over_K) < 0.2
    # As shipped the mount follows 14 s late, behind its pad: cooler than one lump, by what is told.
    two = duty_of(LAMP, settings(LAMP))
    assert two is not None
    assert -3.0 < two.over_K < 0.0


def _two_lumps_degC(build: Build, heat_W: float, seconds: float) -> float:
    """Return the mount [degC] of two lumps at constant heat: SciPy's matrix exponential."""
    heat = build.heat
    pad_W_K, air_W_K = 1 / (heat.mount_pad_K_W + heat.interface_K_W), 1 / heat.sink_air_K_W
    flows = np.array([[-pad_W_K, pad_W_K], [pad_W_K, -pad_W_K - air_W_K]])
    rates = flows / np.array([[heat.mount_J_K], [heat.sink_J_K]])
    end_K = np.linalg.solve(-flows, [heat_W, 0.0])
    return float(build.heat.ambient_degC + (end_K - expm(rates * seconds) @ end_K)[0])


def test_the_longest_light_from_cold_is_that_of_two_lumps() -> None:
    # Judge: scipy.linalg.expm of mount and sink, at the heat of a mount half way.
    words, at_degC = settings(LAMP), felt_degC(LAMP, settings(LAMP))
    lasts_s = before_cut_s(LAMP, words)
    heat_W = settled(plant_of(LAMP), 1.5, 100.0, (30.0 + at_degC) / 2).heat_W
    judged_s = brentq(lambda at_s: _two_lumps_degC(LAMP, heat_W, at_s) - at_degC, 1, 2000)
    assert lasts_s == pytest.approx(judged_s, rel=0.01)


def test_light_of_the_first_minute_is_that_of_its_mount() -> None:
    # Judge: expm for the mount after 60 s, then the diode's own point on a mount held there.
    heat_W = settled(plant_of(LAMP), 1.5, 100.0, 35.0).heat_W
    at_degC = _two_lumps_degC(LAMP, heat_W, 60.0)
    judged_W = settled(plant_of(LAMP), 1.5, 100.0, at_degC).light_W
    assert light_after_W(LAMP, 60.0) == pytest.approx(judged_W, rel=2e-3)
    # a mount that follows its sink at once takes more steps than are taken: longer ones do as well
    quick = with_values(
        LAMP, {"heat.mount_J_K": 0.05, "heat.interface_K_W": 0.05, "heat.mount_pad_K_W": 0.0}
    )
    heat_W = settled(plant_of(quick), 1.5, 100.0, 35.0).heat_W
    at_degC = 30.0 + heat_W * (0.05 + 5.0 * (1 - math.exp(-60 / (5.0 * 60.05))))
    judged_W = settled(plant_of(quick), 1.5, 100.0, at_degC).light_W
    assert light_after_W(quick, 60.0) == pytest.approx(judged_W, rel=2e-3)


def test_what_heat_leaves_for_ever_balances_at_its_own_mount() -> None:
    # Heat balance by hand: mount = air + heat (1.2 + 5) K/W, 1.575 to 0.3 A over 46 to 56 degC.
    kept = kept_by_heat(LAMP, settings(LAMP))
    assert kept.mount_degC == pytest.approx(30.0 + 6.2 * kept.heat_W, abs=1e-6)
    assert kept.diode_A == pytest.approx(1.575 - 1.275 * (kept.mount_degC - 46) / 10, abs=5e-3)


def test_light_in_short_bursts_puts_the_mean_mount_at_the_cutback() -> None:
    # SciPy: the two lumps driven by 1 s bursts of that share, integrated for ten time constants.
    words, heat = settings(LAMP), LAMP.heat
    share, limit_degC = sustained_pct(LAMP, words) / 100, felt_degC(LAMP, words)
    heat_W = settled(plant_of(LAMP), 1.5, 100.0, limit_degC).heat_W

    def flow(_: float, at: np.ndarray) -> list[float]:
        down_W = (at[0] - at[1]) / (heat.mount_pad_K_W + heat.interface_K_W)
        up_W = share * heat_W - down_W
        out_W = (at[1] - heat.ambient_degC) / heat.sink_air_K_W
        return [up_W / heat.mount_J_K, (down_W - out_W) / heat.sink_J_K]

    end = solve_ivp(flow, (0, 4000), [heat.ambient_degC] * 2, method="LSODA", rtol=1e-8)
    assert end.y[0, -1] == pytest.approx(limit_degC, abs=0.05)


@pytest.mark.parametrize(
    ("energy_eV", "hot_degC", "times"),
    [(0.258, 60, 2.872), (0.35, 60, 4.184), (0.40, 60, 5.133), (0.40, 85, 13.57), (0.70, 60, 17.5)],
)
def test_arrhenius_from_25_degrees(energy_eV: float, hot_degC: float, times: float) -> None:
    # AF = exp(Ea/k (1/T1 - 1/T2)); 0.258 eV of green InGaN laser diodes (pssa 2015).
    assert arrhenius(energy_eV, 25.0, hot_degC) == pytest.approx(times, rel=2e-3)


def test_life_falls_with_the_power_of_current_and_is_a_range() -> None:
    # Inverse power law: 1.5 times the current at n = 2 is 1/2.25 of the life, at n = 5 1/7.59.
    rated_A = LAMP.diode.rated_A
    row = _row(LAMP, 1.5 * rated_A, 60.0, 60.0)
    assert row.high_pct == pytest.approx(100 / 2.25, rel=1e-9)
    assert row.low_pct == pytest.approx(100 / 1.5**5, rel=1e-9)
    # the rated point itself is the measure; hotter, the ends of the energies make the range
    same, hot = _row(LAMP, rated_A, 25.0, 25.0), _row(LAMP, rated_A, 60.0, 25.0)
    assert (same.low_pct, same.high_pct) == (100.0, 100.0)
    assert hot.high_pct == pytest.approx(100 / 2.872, rel=2e-3)
    assert hot.low_pct == pytest.approx(100 / 5.133, rel=2e-3)


def test_life_ranks_every_lower_drive_above_every_higher_one() -> None:
    for name in ("smoke_tunnel", "cave_lamp", "gel_viewer"):
        rows = against_drive(load(name))
        assert len(rows) >= 4
        assert [row.low_pct for row in rows] == sorted((r.low_pct for r in rows), reverse=True)
        assert all(row.low_pct <= row.high_pct for row in rows)


def test_fuse_ratings_are_the_preferred_values_and_loaded_to_three_quarters() -> None:
    # IEC 60127: preferred values of the R10 series, from memory (ratios of about 1.25).
    assert all(1.2 < b / a < 1.35 for a, b in itertools.pairwise(FUSES_A))
    assert fuse_A(1.5) == 2.0 and fuse_A(1.501) == 2.5
    assert fuse_A(1.207) == 2.0  # 60 %; 1.6 A would be loaded to 75.4 %
    assert fuse_A(16.0) is None
    # 2.1 x 2 A for half an hour at 10 A/mm2 (common practice): 0.42 mm2, the next section is 0.5
    assert wire_mm2(2.0) == 0.5 and wire_mm2(20.0) == 6.0


def test_the_inrush_is_the_integral_of_the_square_of_its_current() -> None:
    # Judge: SciPy's quad over the damped ring of pack, leads and input capacitor (series RLC).
    volts, ohm = 8.4, 0.19
    damping_1_s = ohm / (2 * LEADS_H)
    ring_1_s = math.sqrt(1 / (LEADS_H * INPUT_F) - damping_1_s**2)

    def square_A2(at_s: float) -> float:
        sine = math.sin(ring_1_s * at_s)
        return (volts / (ring_1_s * LEADS_H) * math.exp(-damping_1_s * at_s) * sine) ** 2

    judged, _ = quad(square_A2, 0, 1e-4, limit=400)
    assert inrush_A2s(volts, ohm) == pytest.approx(judged, rel=1e-4)


def test_days_on_the_shelf_are_the_energy_of_the_pack_over_the_controllers_watts() -> None:
    # Energy sum: 2.6 Ah x 2 cells x mean 3.80 V from full to 3.25 V (9 %), at 0.1 W (Chen2020).
    drain_A, shelf_s = shelf(LAMP)
    energy_J = 0.91 * 2.6 * 3600 * 2 * 3.80
    assert shelf_s == pytest.approx(energy_J / 0.1, rel=0.02)
    assert drain_A == pytest.approx(0.1 / (2 * 3.80), rel=0.02)


def test_the_curve_over_current_bends_where_heat_eats_the_light() -> None:
    # By hand at 1.5 A cool: 0.852 W, 71.6 degC (see test_size); hot it is less at every current.
    rows = over_current(LAMP)
    (chosen,) = [row for row in rows if row.current_A == 1.5]
    assert chosen.light_W == pytest.approx(0.852, abs=0.003)
    assert chosen.junction_degC == pytest.approx(71.6, abs=0.2)
    assert [row.current_A for row in rows] == sorted(row.current_A for row in rows)
    assert all(row.steady_W < row.light_W for row in rows if row.light_W > 0)
    assert rows[-1].current_A == pytest.approx(LAMP.diode.rated_A)
