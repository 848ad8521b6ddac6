"""Loops: linear margins against hand calculation, closed forms, and the compiled law run in time.

Phase and gain margin, overshoot, rise: K. J. Astrom, R. M. Murray, Feedback Systems (2008),
chapters 5 and 9. Damping about a hundredth of the phase margin in degrees: G. F. Franklin, J. D.
Powell, A. Emami-Naeini, Feedback Control of Dynamic Systems, section 6.4 (from memory).
"""

import dataclasses
import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from diodewright.build import load, with_values
from diodewright.rehearse.trial import TrialJob
from diodewright.sim import Event, Machine, new_tally
from diodewright.size.working import plant_of, settled
from diodewright.tune import Context, context_of
from diodewright.tune.loop_model import (
    LoopLine,
    Margins,
    code_K,
    cutback_lines,
    line_A_K,
    linear_plant,
    margins_of,
    mount_read_degC,
    trim_line,
)
from diodewright.tune.loop_runs import Response, air_step, at_level, in_cutback, set_step
from diodewright.tune.loops import looked, mends_of

Jobs = Callable[..., TrialJob]
QUIET = {"sensors.adc_noise_codes": 0}
#: A light with hardly any metal behind a thick pad: little that smooths, much that heats.
BARE = QUIET | {"heat.mount_J_K": 0.3, "heat.sink_J_K": 3, "heat.mount_pad_K_W": 9.6}


def _trim(job: TrialJob) -> tuple[Machine, Margins]:
    machine, reached = at_level(job)
    assert reached and machine.mode() == "run"
    return machine, margins_of(trim_line(linear_plant(machine), job.words))


def _slow_set(ms: float, authority_pct: float = 5) -> dict[str, Any]:
    """Return a trim of highest gain behind a slow set filter, and a rise that bears it."""
    return QUIET | {
        "stage.set_filter_ms": ms,
        "limits.trim_gain": 0.25,
        "limits.soft_start_ms": max(500.0, 130.0 * ms),
        "limits.authority_pct": authority_pct,
    }


def test_margins_of_a_known_loop_are_the_textbook_s() -> None:
    """1 / (s (s + 1)^2): it would swing at 1 rad/s, with a gain of 2; 0.682 rad/s is crossed."""
    at = np.geomspace(1e-3, 1e2, 4000)
    s = 1j * at
    found = margins_of(LoopLine("known", at, 1 / (s * (s + 1) ** 2)))
    assert found.gain_dB == pytest.approx(20 * math.log10(2), abs=0.01)
    assert found.swings_rad_s == pytest.approx(1.0, rel=1e-3)
    assert found.crossover_rad_s == pytest.approx(0.6823, rel=1e-3)
    assert found.phase_deg == pytest.approx(90 - 2 * math.degrees(math.atan(0.6823)), abs=0.1)


def test_the_trim_is_an_integrator_a_tick_late(job_of: Jobs) -> None:
    """By hand: K / (z - 1), K = 1/64: |L| = 1 at 2 asin(K / 2) / T, its lag 90 + w T / 2 there.

    Set filter, stage and monitor (0.2, 0.2, 0.05, 0.1 ms) add w times the sum of their lags.
    """
    _, found = _trim(job_of("smoke_tunnel"))
    w = 2 * math.asin(1 / 128) / 1e-3
    lag = 90 + math.degrees(w * 1e-3) / 2
    assert found.crossover_rad_s == pytest.approx(w, rel=0.005)
    assert found.phase_deg == pytest.approx(180 - lag, abs=0.05)
    # a plant at once in place would bear 2 / K; what lags within the tick takes from the swing
    assert 20 * math.log10(128) < (found.gain_dB or 0.0) < 20 * math.log10(128) + 1.5


def test_the_trim_mends_in_its_closed_form_s_time(job_of: Jobs) -> None:
    """(1 - K)^n: time constant 63.5 ms; 10 to 90 % takes ln 9 of it, 5 % are left after ln 20.

    An error below 1 mA moves nothing (64 / 64 mA, shifted by 6): 2 % of the way, 6 % of its time.
    """
    job = job_of("smoke_tunnel", QUIET)
    machine, _ = _trim(job)
    seen = set_step(job, machine)
    assert seen is not None
    tau_s = -1e-3 / math.log(1 - 1 / 64)
    assert seen.rise_s == pytest.approx(math.log(9) * tau_s, rel=0.08)
    assert seen.settle_s == pytest.approx(math.log(20) * tau_s, rel=0.08)


def test_overshoot_follows_the_phase_margin(job_of: Jobs) -> None:
    """Damping is about PM / 100, overshoot exp(-pi z / sqrt(1 - z^2)): 24 % at 41 degrees.

    A step so small that no slew limit meets it; one count of the set PWM is a tenth of it.
    """
    job = job_of("smoke_tunnel", _slow_set(2.2, authority_pct=1.5))
    machine, found = _trim(job)
    seen = set_step(job, machine)
    assert seen is not None and found.phase_deg is not None
    damping = found.phase_deg / 100
    told = 100 * math.exp(-math.pi * damping / math.sqrt(1 - damping**2))
    assert seen.overshoot_pct == pytest.approx(told, abs=10)


@pytest.mark.parametrize(("ms", "swings"), [(6.0, False), (10.0, True)])
def test_more_gain_than_the_margin_makes_the_trim_swing(
    job_of: Jobs, ms: float, swings: bool
) -> None:
    """Integrator and two equal poles: it swings by itself from K tau / 2 T = 1, here at 8 ms.

    The linear margin changes its sign there within half a decibel; in time the swing dies below
    it and stays above it, with the period of the phase crossover, 2 pi tau.
    """
    job = job_of("smoke_tunnel", _slow_set(ms))
    machine, found = _trim(job)
    by_hand_dB = -20 * math.log10(0.25 * ms / 2)
    assert found.gain_dB == pytest.approx(by_hand_dB, abs=0.6)
    assert ((found.gain_dB or 0.0) < 0) == swings
    seen = set_step(job, machine)
    assert seen is not None
    # one count of the set PWM is 0.09 % of the current
    assert (seen.swing.share > 0.005) == swings
    assert (seen.settle_s is None or seen.settle_s > 3.0) == swings
    if swings:
        assert seen.swing.period_s == pytest.approx(
            2 * math.pi / (found.swings_rad_s or 1), rel=0.05
        )
        assert seen.swing.period_s == pytest.approx(2 * math.pi * 1e-3 * ms, rel=0.05)


def test_the_plant_s_slow_modes_are_those_of_two_lumps(job_of: Jobs) -> None:
    """C dT/dt of mount and sink: the eigenvalues of a two by two matrix, by hand.

    Heat that changes with temperature moves them by a few per cent.
    """
    build = load("smoke_tunnel")
    heat = build.heat
    pad_W_K = 1 / (heat.mount_pad_K_W + heat.interface_K_W)
    lumps = np.array(
        [
            [-pad_W_K / heat.mount_J_K, pad_W_K / heat.mount_J_K],
            [pad_W_K / heat.sink_J_K, -(pad_W_K + 1 / heat.sink_air_K_W) / heat.sink_J_K],
        ]
    )
    by_hand_s = sorted(-1 / np.linalg.eigvals(lumps))
    job = job_of("smoke_tunnel")
    machine, reached = in_cutback(job, heat.ambient_degC)
    assert reached
    poles = np.linalg.eigvals(linear_plant(machine).a).real
    slow_s = sorted(-1e-3 / math.log(each) for each in poles if 1 - 2e-3 < each < 1 - 1e-8)
    # beside them: the channel of cut-off A, and the thermistor
    others_s = [machine.peek("plant.a_tau_s"), job.build.sensors.ntc_lag_s]
    assert slow_s == pytest.approx([*others_s, *by_hand_s], rel=0.03)


def test_the_cutback_s_gain_at_rest_is_that_of_settled_points(job_of: Jobs) -> None:
    """Kelvins of the mount for an ampere, from two settled working points, times the line."""
    job = job_of("smoke_tunnel", QUIET)
    machine, reached = in_cutback(job, 30.0)
    assert reached
    plant = linear_plant(machine)
    drive_A, by_A = machine.true("diode_A"), 0.01
    p = plant_of(job.build)
    ends = [settled(p, drive_A + sign * by_A).mount_degC for sign in (-1, 1)]
    mount_degC = machine.true("mount_ntc_degC")
    reads = [mount_read_degC(machine, job.words, mount_degC + sign * 2) for sign in (-1, 1)]
    # by hand: 1.5 A and 5 % of trim down to the reserve of 0.3 A, over the 10 K from 46 to 56 degC
    line = (1.5 * 1.05 - 0.3) / 10
    told = (ends[1] - ends[0]) / (2 * by_A) * (reads[1] - reads[0]) / 4 * line
    for each in cutback_lines(machine, plant, job.words):
        assert abs(each.gain[0]) == pytest.approx(told, rel=0.02)


def _bare(job_of: Jobs, span_K: float) -> tuple[float, float, Response, list[Margins]]:
    """Return linear margin [dB], code's share, response and margins of a bare light."""
    ends = {"limits.mount_warm_degC": 50 - span_K / 2, "limits.mount_hot_degC": 50 + span_K / 2}
    job = job_of("smoke_tunnel", BARE | ends | {"limits.mount_trip_degC": 68})
    machine, reached = in_cutback(job, 25.0)
    assert reached
    lines = [margins_of(line) for line in cutback_lines(machine, linear_plant(machine), job.words)]
    seen = air_step(job, machine)
    code = _code_share(machine, job)
    worst = min(each.gain_dB for each in lines if each.gain_dB is not None)
    return worst, code, seen, lines


def _code_share(machine: Machine, job: TrialJob) -> float:
    return line_A_K(job.words) * code_K(machine, job.words) / (machine.word("drive") / 64000)


def test_raising_the_cutback_s_gain_makes_it_swing_where_its_margin_ends(job_of: Jobs) -> None:
    """Calm to within three codes at 6 dB; far above that where 1 dB is missed.

    Where it begins lies up to 3.5 dB ahead of the linear margin: a quantiser counts as up to
    4 / pi more gain (2.1 dB), and the lead works on rises only. The period is that between the
    phase crossovers of its two linear loops, within 6 %.
    """
    worst, code, seen, _ = _bare(job_of, 4.0)
    assert worst > 5
    assert seen.swing.share < 3 * code
    worst, code, seen, lines = _bare(job_of, 1.8)
    assert -2 < worst < 0
    assert seen.swing.share > 6 * code
    periods = sorted(each.period_s for each in lines if each.period_s is not None)
    assert seen.swing.period_s is not None
    assert 0.94 * periods[0] < seen.swing.period_s < 1.06 * periods[1]


def test_a_sensor_that_lags_more_than_the_law_was_told_takes_phase(job_of: Jobs) -> None:
    """A thermistor that came loose: 20 s for 5 s."""
    job = job_of("smoke_tunnel", QUIET)
    machine, _ = in_cutback(job, 30.0)
    lagging = machine.copy()
    loose = Event(lagging.now, "plant.ntc_lag_s", 20)
    lagging.run(lagging.now + 1000, new_tally(lagging.engine, 0.01), (loose,))
    phases = [
        margins_of(cutback_lines(each, linear_plant(each), job.words)[1]).phase_deg
        for each in (machine, lagging)
    ]
    assert phases[0] is not None and phases[1] is not None
    assert phases[1] < phases[0] - 5


@pytest.fixture(scope="module")
def steep() -> Context:
    return context_of(with_values(load("smoke_tunnel"), {"limits.mount_warm_degC": 55}))


def test_a_too_steep_derate_hunts_and_is_told_what_stops_it(steep: Context) -> None:
    """One kelvin from full level to reserve: every code of the thermistor is some per cent."""
    found = looked(steep, steep.build, "cutback", "typical")
    assert found.hunts and found.swing_pct > 3 and (found.code_pct or 0) > 3
    (mend,) = mends_of(steep, (found,))
    assert mend.key == "limits.mount_warm_degC" and mend.value is not None
    assert 46 < mend.value < 54
    mended = with_values(steep.build, {mend.key: mend.value})
    assert not looked(steep, mended, "cutback", "typical").hunts
    assert looked(steep, with_values(steep.build, {mend.key: 54.8}), "cutback", "typical").hunts


def test_an_unstable_trim_hunts_and_half_its_gain_stops_it() -> None:
    """Two poles of 12 ms under the highest gain miss 3.5 dB; half of it has 2.5 dB left."""
    context = context_of(with_values(load("smoke_tunnel"), _slow_set(12.0)))
    found = looked(context, context.build, "trim", "typical")
    assert found.reached and found.hunts and found.unstable
    (mend,) = mends_of(context, (found,))
    assert mend.key == "limits.trim_gain" and mend.value == 0.125
    assert not mend.looked.hunts


def test_a_light_that_never_comes_to_its_level_has_no_loop_to_judge() -> None:
    """A set filter of 30 ms: the stage gives too little at the start, the diode counts as open."""
    context = context_of(with_values(load("smoke_tunnel"), _slow_set(30.0)))
    found = looked(context, context.build, "trim", "typical")
    assert not found.reached and not found.hunts
    assert found.said == "latches open on the way to its level"


def test_a_shipped_light_does_not_hunt_with_any_parts(tunnel: Context) -> None:
    for parts in ("typical", "hot", "cool"):
        found = looked(tunnel, tunnel.build, "cutback", parts)
        assert found.reached and not found.hunts, dataclasses.asdict(found)
