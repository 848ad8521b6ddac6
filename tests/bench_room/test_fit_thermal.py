"""The heat ladder found in a recording: within its own uncertainty, and no more than it shows."""

from dataclasses import replace

import numpy as np
import pytest
from made import HEAT_UP, LADDER, SMOKE, made
from scipy.linalg import expm

from diodewright.bench import BenchError
from diodewright.bench.driven import Driven
from diodewright.bench.fit_thermal import fit_thermal
from diodewright.bench.fitting import Fit, changed
from diodewright.bench.span import Record
from diodewright.build import load
from diodewright.sim import compiled

FITTED = [name for name in LADDER if name != "ambient_degC"]


def z_of(fit: Fit, hidden: dict[str, float]) -> dict[str, float]:
    """Return how many of its own standard deviations each fitted value is off."""
    return {
        each.knob.name: (each.value - hidden[each.knob.name]) / (each.spread / 2)
        for each in fit.solution.every
        if each.knob.name in hidden and not each.kept
    }


def _covered(seeds: range) -> None:
    scores = []
    for seed in seeds:
        fit = fit_thermal(made(SMOKE, LADDER, 7919 * seed))
        found = z_of(fit, LADDER)
        assert set(found) == set(LADDER), "something was kept that this record shows"
        scores.append([found[name] for name in FITTED])
        for each in fit.solution.every:
            if each.knob.name in FITTED:  # and the claim is a sharp one
                assert each.spread < 0.03 * each.value, each
    z = np.array(scores)
    assert np.abs(z).max() < 4.5, z
    assert np.sqrt(np.mean(z**2)) < 1.6, z  # 1 where the stated uncertainty is the true one


def test_hidden_ladder_is_found_within_its_own_uncertainty() -> None:
    _covered(range(1, 5))


@pytest.mark.long
def test_hidden_ladder_is_found_within_its_own_uncertainty_over_forty_seeds() -> None:
    _covered(range(101, 141))


def test_readings_that_are_off_move_all_of_it_by_no_more_than_the_stated_scale() -> None:
    wrong = {"current_read_gain": 1.008, "output_read_gain": 0.99, "light_factor": 0.93}
    fit = fit_thermal(made(SMOKE, LADDER | wrong))
    for row in fit.suggested:
        if row.key == "heat.sink_air_K_W":
            off = abs(row.value - LADDER["sink_air_K_W"])
            assert row.spread < off < row.total


def test_a_short_light_keeps_what_it_does_not_show() -> None:
    # a minute of a lump that takes six to warm: how it sheds heat to the air is not in there
    hidden = {"sink_air_K_W": 7.0, "sink_J_K": 52.0}
    use = ((10, "trigger", 1), (45, "trigger", 0))
    fit = fit_thermal(made(SMOKE, hidden, use=use, until_s=50, rate_Hz=5))
    kept = {each.knob.name: each for each in fit.solution.every if each.kept}
    assert "sink_air_K_W" in kept
    assert kept["sink_air_K_W"].value == 5.0 and kept["sink_air_K_W"].spread == 0
    assert "only" in kept["sink_air_K_W"].kept or "not told from" in kept["sink_air_K_W"].kept
    assert "heat.sink_air_K_W" not in {row.key for row in fit.suggested}
    assert any("hardly a cool-down" in note for note in fit.notes)


def test_a_record_that_begins_warm_has_its_air_from_the_rest_of_the_curve() -> None:
    warm = ((0, "true.mount_degC", 45), (0, "true.sink_degC", 44), (0, "true.sink_ntc_degC", 44))
    use = (*warm, (0, "true.mount_ntc_degC", 45), *HEAT_UP)
    fit = fit_thermal(made(SMOKE, {"ambient_degC": 24.0}, use=use))
    assert any("does not begin with a rest" in note for note in fit.notes)
    air = next(each for each in fit.solution.every if each.knob.name == "ambient_degC")
    assert abs(air.value - 24.0) < max(2 * air.spread, 0.2)


def test_the_change_names_keys_leaves_the_pad_and_says_how_sure_it_is() -> None:
    record = made(SMOKE, LADDER)
    fit = fit_thermal(record)
    edit = changed(record, fit.suggested, "fitted to")
    assert edit.build.heat.mount_pad_K_W == SMOKE.heat.mount_pad_K_W
    assert edit.build.heat.interface_K_W == pytest.approx(1.5 - 0.8, abs=0.02)
    assert edit.build.heat.sink_air_K_W == pytest.approx(5.6, rel=0.01)
    assert edit.build.heat.junction_mount_K_W == SMOKE.heat.junction_mount_K_W
    assert "± 0.19, fitted to made.npz" in edit.diff


def test_what_the_file_gives_stays_where_the_record_says_nothing_else() -> None:
    record = made(SMOKE, {})
    edit = changed(record, fit_thermal(record).suggested, "fitted to")
    assert edit.diff == ""


def test_followed_heat_path_is_the_closed_form_of_two_lumps() -> None:
    """Judge: x' = A x + b, by the matrix exponential (SciPy); a dummy gives no light."""
    build = load("smoke_tunnel_dummy")
    heat, amperes, volts = build.heat, 1.0, 3.0
    time_s = np.arange(0.0, 400.0, 0.2)
    driven = Driven(build, compiled(), time_s)
    full = np.full_like(time_s, amperes)
    # no resistance in the path, so that the heat is 3 W
    none = {"monitor_ohm": 1e-9, "lead_ohm": 0.0, "a_ohm": 1e-9}
    air = heat.ambient_degC
    rows = driven.heat(none, (air, air), full, volts * full, 8.0 * full)
    way_W_K = 1 / (heat.mount_pad_K_W + heat.interface_K_W)
    lag_s = build.sensors.ntc_lag_s
    mount, sink = heat.mount_J_K, heat.sink_J_K
    a = np.array(
        [
            [-way_W_K / mount, way_W_K / mount, 0, 0],
            [way_W_K / sink, -(way_W_K + 1 / heat.sink_air_K_W) / sink, 0, 0],
            [1 / lag_s, 0, -1 / lag_s, 0],
            [0, 1 / lag_s, 0, -1 / lag_s],
        ]
    )
    b = np.array([volts * amperes / mount, 0, 0, 0])
    settled = -np.linalg.solve(a, b)
    for at in (50, 250, 1000, 1999):  # 10 s to the end
        risen = settled - expm(a * time_s[at]) @ settled
        # the junction holds back a little of the heat while it warms: 20 ms of 3 W
        assert rows["mount_degC"][at] - air == pytest.approx(risen[2], rel=2e-3, abs=6e-3)
        assert rows["sink_degC"][at] - air == pytest.approx(risen[3], rel=2e-3, abs=6e-3)


def _without(record: Record, name: str) -> Record:
    columns = {key: values for key, values in record.trace.columns.items() if key != name}
    return replace(record, trace=replace(record.trace, columns=columns))


def _gap(record: Record, at: int) -> Record:
    columns = {name: values.copy() for name, values in record.trace.columns.items()}
    for name in columns:
        if name != "time_s":
            columns[name][at] = np.nan
    return replace(record, trace=replace(record.trace, columns=columns))


def test_what_can_not_be_fitted_is_refused_in_one_line() -> None:
    record = made(SMOKE, {}, until_s=120)
    dark = made(SMOKE, {}, use=(), until_s=30)
    short = made(SMOKE, {}, use=((10, "trigger", 1), (20, "trigger", 0)), until_s=60)
    cool = made(SMOKE, {"mount_J_K": 900.0, "sink_J_K": 9000.0}, until_s=60)
    for wrong, said in (
        (_without(record, "sink_read_degC"), "has no sink_read_degC"),
        (_gap(record, 300), r"a gap at \d+.\d+ s, inside the 0 to 120 s that are wanted"),
        (dark, "no heat-up in it: it is dark throughout"),
        (short, r"too short: lit for \d.\d s, at least 20 s"),
        (cool, r"no heat-up in it: nothing warmed by more than \d.\d K"),
    ):
        with pytest.raises(BenchError, match=said) as refused:
            fit_thermal(wrong)
        assert str(refused.value).startswith("made.npz: ") and "\n" not in str(refused.value)
    assert fit_thermal(_gap(record, 590), to_s=110).solution.every  # the rest of it is whole
