"""One choice evaluated: the same every time, true to a whole use, refused in the build's words."""

import dataclasses
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import pytest

from diodewright.build import load
from diodewright.derive import criteria, settings
from diodewright.derive.tolerances import tolerances
from diodewright.rehearse.margins import _alone, _asked, _corner, _Series
from diodewright.rehearse.trial import TrialJob, decisive_cases, rested_soon
from diodewright.rehearse.use import dark_A, rested, start_charge, tally_values
from diodewright.sim import Event, compiled, new_tally
from diodewright.tune import DEPTHS, Context, Evaluation, context_of, evaluate

SHIPPED = ("smoke_tunnel", "smoke_tunnel_bench", "smoke_tunnel_dummy", "cave_lamp", "gel_viewer")
WARM = "limits.mount_warm_degC"


def test_the_same_choice_is_the_same_to_the_last_bit(
    tunnel: Context, as_shipped: Evaluation
) -> None:
    again = evaluate(context_of(load("smoke_tunnel")), {})
    assert again.as_dict() == as_shipped.as_dict()
    assert again.curve is not None and as_shipped.curve is not None
    assert (again.curve.light_W == as_shipped.curve.light_W).all()


@pytest.mark.parametrize("name", ["smoke_tunnel", "smoke_tunnel_bench"])
def test_a_pool_changes_no_bit_of_a_choice(name: str) -> None:
    """The bench supply has no low use: nothing is asked of the pool then."""
    context = context_of(load(name))
    alone = evaluate(context, {WARM: 47}, "use")
    with ThreadPoolExecutor(1) as pool:
        assert evaluate(context, {WARM: 47}, "use", pool=pool).as_dict() == alone.as_dict()


@pytest.mark.parametrize("name", SHIPPED)
def test_shipped_settings_hold(name: str) -> None:
    seen = evaluate(context_of(load(name)), {})
    assert seen.holds, [row.id for row in seen.broken]
    assert len({row.id for row in seen.constraints}) == len(seen.constraints)
    assert all(row.margin is not None for row in seen.constraints)


def test_each_depth_holds_all_of_the_one_before(tunnel: Context) -> None:
    ids: set[str] = set()
    runs = -1
    for depth in DEPTHS:
        seen = evaluate(tunnel, {WARM: 47}, depth)
        found = {row.id for row in seen.constraints}
        assert found > ids and seen.runs > runs
        ids, runs = found, seen.runs
    with pytest.raises(ValueError, match="one of bands, use, corners, faults"):
        evaluate(tunnel, {}, "deep")


def test_nothing_is_run_behind_what_stops_it(tunnel: Context) -> None:
    whole = evaluate(tunnel, {})
    for depth, runs in (("bands", 0), ("use", 2)):
        known = {row.id for row in evaluate(tunnel, {}, depth).constraints}
        seen = evaluate(tunnel, {}, stops=lambda row, known=known: row.id in known)  # type: ignore[misc]
        assert (seen.depth, seen.runs) == ("bands", 0)
        last = max(known, key=[row.id for row in whole.constraints].index)
        seen = evaluate(tunnel, {}, stops=lambda row, last=last: row.id == last)  # type: ignore[misc]
        assert (seen.depth, seen.runs) == (depth, runs)


def test_figures_are_those_of_a_use_behind_a_whole_rest(as_shipped: Evaluation) -> None:
    """Half an hour of rest run and not written, four sub-steps a tick all the way."""
    build = load("smoke_tunnel")
    machine = rested(build, compiled(), 1, start_charge(build), build.comparator.trip_max_A)
    tally = new_tally(machine.engine, dark_A(build))
    press, delay = machine.now + 1000, round(1000 * build.limits.delay_s)
    machine.run(press + delay + 60_000, tally, (Event(press, "plant.trigger", 1),))
    first_minute_W = machine.true("light_W")
    machine.run(press + delay + 600_000, tally)
    whole = tally_values(tally)
    for figure, value in {
        "light_first_minute_W": first_minute_W,
        "light_sustained_W": machine.true("light_W"),
        "before_cutback_s": whole["first_heat_cut_s"] - whole["first_lit_s"],
        "peak_A": whole["peak_current_A"],
        "junction_degC": whole["peak_junction_degC"],
        "mount_degC": whole["peak_mount_degC"],
        "sink_degC": whole["peak_sink_degC"],
    }.items():
        assert as_shipped.figure(figure) == pytest.approx(value, rel=0.005), figure


def test_start_is_the_law_s_own_curve(as_shipped: Evaluation) -> None:
    """3x2 - 2x3 over half a second from 0.1 to 1.5 A is steepest half way: 1.5 x 1.4 A / 0.5 s.

    Read over 10 ms it is a little less; the first step, to the start level, is 0.1 A in 10 ms.
    """
    steepest = max(1.5 * 1.4 / 0.5, 0.1 / 0.010)
    assert as_shipped.figure("start_A_s") == pytest.approx(steepest, rel=0.03)


def test_a_gentler_start_and_a_lower_level_show_in_their_figures(
    tunnel: Context, as_shipped: Evaluation
) -> None:
    seen = evaluate(tunnel, {"limits.soft_start_ms": 1000, "limits.start_level_A": 0.05}, "use")
    assert seen.figure("start_A_s") == pytest.approx(as_shipped.figure("start_A_s") / 2, rel=0.05)
    seen = evaluate(tunnel, {"levels.full_A": 1.45, "stage.full_scale_A": 1.59}, "use")
    # 0.85 W/A at 25 degC, less where it is hot; and half a watt less of heat
    less_W = as_shipped.figure("light_first_minute_W") - seen.figure("light_first_minute_W")
    assert 0.02 < less_W < 0.85 * 0.05
    assert seen.figure("before_cutback_s") > 1.05 * as_shipped.figure("before_cutback_s")


def test_minutes_are_those_of_a_pack_run_down_by_the_compiled_law(
    job_of: Callable[..., TrialJob],
) -> None:
    """The viewer's small cells, from full to dark, its auto-off held back: two hours of ticks."""
    job = job_of("gel_viewer")
    told = evaluate(context_of(job.build), {}, "use").figure("pack_min")
    machine = rested_soon(job)
    tally = new_tally(machine.engine, dark_A(job.build))
    machine.run(machine.now + 5000, tally, (Event(machine.now + 1000, "plant.trigger", 1),))
    machine.substeps = 1
    begin = machine.now
    while machine.true("diode_A") > dark_A(job.build):
        machine.run(machine.now + 60_000, tally, (Event(machine.now, "law.on_ticks", 1),))
    assert machine.mode() in ("dark", "pack_low")
    assert told == pytest.approx((machine.now - begin) / 60_000, rel=0.02)


def test_a_refusal_is_the_build_s_or_the_board_s_own_words(tunnel: Context) -> None:
    for values, said in (
        ({WARM: 480}, "out of range; allowed 0 to 200 degC"),
        ({WARM: 58}, "cutback must begin below where it ends"),
        ({"limits.delay_s": 0}, "delay"),
    ):
        seen = evaluate(tunnel, values)
        assert said in seen.refusal
        assert not seen.holds and not seen.figures and not seen.constraints and seen.runs == 0


def test_hotter_limits_fail_where_a_person_touches_at_the_corner_alone(tunnel: Context) -> None:
    """Typical parts keep the sink below 60 degC; a mount that reads cold in warm air does not."""
    hot = {WARM: 62, "limits.mount_hot_degC": 64, "limits.mount_trip_degC": 66}
    seen = evaluate(tunnel, hot)
    assert seen.constraint("use.touch").holds
    assert not seen.constraint("corner.touch").holds
    assert "hot-sink" in seen.constraint("corner.touch").where
    assert seen.broken[0].margin is not None and seen.broken[0].margin < 0


def test_a_level_beyond_the_diode_s_bounds_fails_by_a_fault_that_is_named(tunnel: Context) -> None:
    """Comparator, inductor and delay at their ends leave 2 % of the absolute maximum."""
    late = {"comparator.trip_max_A": 1.90, "stage.inductor_uH": 33}
    seen = evaluate(tunnel, late)
    worst = seen.constraint("corner-fault.diode-current")
    assert not worst.holds and worst.where == "bright: stage-full-on@soft-start"


def test_the_worst_current_of_the_faults_is_a_figure(as_shipped: Evaluation) -> None:
    """A stage stuck full on: the highest trip, a microsecond of slope and half the ripple."""
    assert as_shipped.figure("fault_peak_A") == as_shipped.constraint("fault.diode-current").value
    assert 1.82 < as_shipped.figure("fault_peak_A") < as_shipped.figure("corner_fault_peak_A") < 2
    # the closed form of that edge, at the worse end of what the build says, is not above it
    edge_A = as_shipped.constraint("edge.trip").value
    assert edge_A is not None and as_shipped.figure("corner_fault_peak_A") > edge_A


def test_the_faults_are_sixty_and_the_same_for_every_choice(tunnel: Context) -> None:
    names = [row.id for row, _ in tunnel.cases]
    assert len(names) == 60 == len(set(names))
    assert names[0] == "stage-full-on"
    assert context_of(load("smoke_tunnel")).cases == tunnel.cases


def test_a_build_that_never_lights_says_what_stands_in_its_way(tunnel: Context) -> None:
    """A lockout above a full pack: the press is answered by nothing."""
    seen = evaluate(
        tunnel,
        {
            "limits.pack_lockout_V": 8.3,
            "limits.pack_cutback_end_V": 8.3,
            "limits.pack_cutback_V": 8.35,
            "limits.pack_rearm_V": 8.38,
        },
    )
    if not seen.refusal:
        assert not seen.constraint("use.lights").holds
        assert seen.figures == ()
    assert not seen.holds


@pytest.mark.long
@pytest.mark.parametrize("name", ["smoke_tunnel", "cave_lamp", "gel_viewer"])
def test_corners_are_as_bad_as_those_that_the_margins_find(name: str) -> None:
    """Each part alone at both ends, then all at the worse one: within 1 % of the limit of ours."""
    context = context_of(load(name))
    build, seen = context.build, evaluate(context, {})
    rows = tolerances(build)
    job = TrialJob(build, context.machine, settings(build), rows, {}, 1, ())
    job = dataclasses.replace(job, cases=decisive_cases(job))
    series = _Series(job, None, lambda _: None)
    (first,) = series.run([("nominal", {}, 1)])
    alone = series.run(_alone(rows, 1))
    told = {row.id for row in criteria(build)} - {"light", "before-cutback"}
    for asked in _asked(build):
        own = {"use": "corner", "fault": "corner-fault"}[asked.scope]
        id = f"{own}.{asked.criterion.id}"
        # what can't be worse than typical has no corner; a junction under faults is told cooler
        known = {row.id for row in seen.constraints}
        if asked.criterion.id not in {*told, "mount"} or id not in known:
            continue
        if id in ("corner-fault.junction", "corner-fault.pass-channel"):
            continue
        (worst,) = series.run([("corner", _corner(asked, first.trial, alone), 1)])
        there = asked.of(worst.trial)
        mine = seen.constraint(id).value
        assert there is not None and mine is not None
        short = mine - there if asked.criterion.sense == "at_most" else there - mine
        assert short > -0.01 * abs(asked.criterion.limit), (id, mine, there)
