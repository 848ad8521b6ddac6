"""The table of tolerances: limits from the build, draws within them, guard bands that add up."""

import dataclasses
import math

import numpy as np
import pytest

from diodewright.build import Build, examples, load, with_value
from diodewright.derive import plant_values, settings
from diodewright.derive.electrics import parameters
from diodewright.derive.guard_bands import GuardBand, guard_bands
from diodewright.derive.spread import Spread, Term, likely, worst
from diodewright.derive.tolerances import Tolerance, drawn_values, placed, tolerances
from diodewright.plant import record
from diodewright.plant.params import PARAM_RECORD
from diodewright.plant.sensors import ntc_ohm

LAMP = load("smoke_tunnel")
ROWS = {row.name: row for row in tolerances(LAMP)}


@pytest.mark.parametrize("name", examples())
def test_nothing_drawn_is_the_nominal_build_to_the_last_bit(name: str) -> None:
    build = load(name)
    rows = tolerances(build)
    assert drawn_values(build, {}) == plant_values(build)
    assert drawn_values(build, {row.name: 0.0 for row in rows}) == plant_values(build)


@pytest.mark.parametrize("name", examples())
def test_the_plant_takes_every_tolerance_at_both_ends_and_each_moves_something(name: str) -> None:
    build = load(name)
    nominal = plant_values(build)
    for row in tolerances(build):
        assert row.low <= 0 <= row.high
        assert row.source
        for z in row.ends:
            values = drawn_values(build, {row.name: z})
            record.make(PARAM_RECORD, values)
            moved = {key for key in values if values[key] != nominal.get(key)}
            assert moved == set(row.moves), (row.name, z)


@pytest.mark.parametrize(
    ("row", "param", "ends"),
    [
        ("monitor-gain", "monitor_gain_V_V", (29.7, 30.3)),  # 1.5 V/A on 50 mohm, 1 %
        ("output-divider", "output_ratio", (0.297, 0.303)),  # 0.3, 1 %
        ("pack-divider", "pack_ratio", (0.297, 0.303)),
        ("forward-voltage", "diode_spread_V", (-0.35, 0.35)),
        ("comparator-trip", "trip_A", (1.68, 1.82)),
        ("ambient", "ambient_degC", (10.0, 35.0)),
        ("set-path", "set_gain", (0.99, 1.01)),
    ],
)
def test_limits_are_the_builds_own_where_it_states_them(row: str, param: str, ends) -> None:
    found = [drawn_values(LAMP, {row: z})[param] for z in (-1.0, 1.0)]
    assert found == pytest.approx(ends, rel=1e-12)


def test_the_dividers_tolerance_is_read_from_the_build() -> None:
    wide = with_value(LAMP, "sensors.voltage_tolerance_pct", 2.5)
    assert drawn_values(wide, {"pack-divider": 1.0})["pack_ratio"] == pytest.approx(0.3075)


def test_a_gated_module_spreads_by_its_own_tolerance_and_has_no_set_path() -> None:
    rows = {row.name: row for row in tolerances(load("gel_viewer"))}
    assert (rows["module"].low, rows["module"].high) == (-0.1, 0.1)
    assert not {"set-path", "own-shunt", "threshold", "pass"} & rows.keys()


@pytest.mark.parametrize("z", [-1.0, 0.5, 1.0])
def test_a_thermistor_reads_so_much_hotter_where_cutback_ends(z: float) -> None:
    """Its tolerance is 1 K: at 56 degC its resistance is that of 56 degC + z."""
    made = record.make(PARAM_RECORD, drawn_values(LAMP, {"mount-sensor": z})).record
    p, at_degC = parameters(LAMP), LAMP.limits.mount_hot_degC
    assert ntc_ohm(p, at_degC) * made.mount_read_gain == pytest.approx(ntc_ohm(p, at_degC + z))


@pytest.mark.parametrize("z", [-1.0, 1.0])
def test_a_steeper_thermistor_is_right_at_25_degc_and_off_elsewhere_as_its_beta_says(z) -> None:
    """1/T - 1/298.15 K = ln(R/R25) / B, so B off by 1 % moves the reciprocal by 1 %."""
    made = record.make(PARAM_RECORD, drawn_values(LAMP, {"ntc-curve": z}), compiled=False).record
    p = parameters(LAMP)
    assert ntc_ohm(made, 25.0) == pytest.approx(ntc_ohm(p, 25.0), rel=1e-4)
    want = math.log(ntc_ohm(p, 60.0) / ntc_ohm(p, 25.0)) * (1 + 0.01 * z)
    assert math.log(ntc_ohm(made, 60.0) / ntc_ohm(p, 25.0)) == pytest.approx(want, rel=2e-3)


def _samples(row: Tolerance, count: int = 20_000) -> np.ndarray:
    chance = np.random.Generator(np.random.PCG64(7)).random(count)
    return np.array([placed(row, float(each)) for each in chance])


def test_draws_stay_within_their_limits_and_reach_towards_both() -> None:
    for row in ROWS.values():
        z = _samples(row, 2000)
        assert np.abs(z).max() <= 1.0
        if len(row.ends) == 2:
            assert abs(z.mean()) < 0.05
            assert (z.min(), z.max()) < (-0.8, 0.8) or z.max() > 0.8
        else:
            assert {math.copysign(1.0, float(each)) for each in z} == set(row.ends)
            assert np.abs(z).mean() == pytest.approx(0.5, abs=0.03)


def test_even_and_normal_draws_have_their_textbook_deviations() -> None:
    """JCGM 100:2008, 4.3.7: a / sqrt 3. A normal cut at 3 sigma has 0.9866 of sigma, a / 3.

    1 - 2 * 3 phi(3) / (1 - 2 Phi(-3)) = 0.97334, its root 0.98658.
    """
    assert _samples(ROWS["output-divider"]).std() == pytest.approx(1 / math.sqrt(3), rel=0.02)
    assert _samples(ROWS["monitor-gain"]).std() == pytest.approx(0.98658 / 3, rel=0.02)


def _reading_A(draws: dict[str, float]) -> float:
    """Return what the law reads of 1.5 A asked for, from the plant's parameters themselves."""
    v = {"set_gain": 1.0, "current_read_offset_V": 0.0} | drawn_values(LAMP, draws)
    pin_V = 1.5 * v["set_gain"] * v["monitor_ohm"] * v["monitor_gain_V_V"]
    pin_V += v["current_read_offset_V"]
    return pin_V / (3.3 * v["ref_gain"]) * 3.0 / 1.5


def test_monte_carlo_of_the_current_chain_agrees_with_sums_and_root_of_squares() -> None:
    """Worst case: sum of |c| a. Likely: u_c^2 = sum c^2 u^2 (JCGM 100:2008, 5.1.2, equation 10).

    By hand at 1.5 A: set 1 %, monitor 1 %, own shunt and reference 0.5 % each, 4.5 mV and 5.86 mV
    of offset over 1.5 V/A: 15 + 15 + 7.5 + 7.5 + 3 + 3.9 = 51.9 mA; deviations 5, 5, 4.33, 4.33,
    1.73, 2.26 mA together 9.78 mA.
    """
    names = ("set-path", "own-shunt", "monitor-gain", "adc-reference", "monitor-zero", "adc-offset")
    of = Spread(LAMP)
    terms = [t for t in (*of.made(1.5), *of.read(1.5)) if t.name in names]
    assert worst(terms) == pytest.approx(0.0519, abs=1e-4)
    deviation_A = math.sqrt(sum(term.variance for term in terms))
    assert deviation_A == pytest.approx(0.00978, abs=2e-5)

    dice = np.random.Generator(np.random.PCG64(11))
    draws = [{n: placed(ROWS[n], float(dice.random())) for n in names} for _ in range(4000)]
    read_A = np.array([_reading_A(each) for each in draws])
    # 4,000 draws know a deviation to 1.1 % (1 / sqrt 2n), the cut of the normal rows takes 1.3 %
    assert read_A.std() == pytest.approx(deviation_A, rel=0.04)
    assert np.abs(read_A - 1.5).max() < worst(terms)
    # the worst corner itself, second order apart (a product of six factors within 1 %)
    ends = dict.fromkeys(names, 1.0) | {"adc-reference": -1.0}
    assert _reading_A(ends) - 1.5 == pytest.approx(worst(terms), rel=0.03)


def test_likely_never_passes_the_worst_case() -> None:
    one = (Term("a", -2.0, 2.0),)
    assert likely(one) == worst(one) == 2.0
    many = tuple(Term(str(i), -1.0, 1.0) for i in range(12))
    assert likely(many) == pytest.approx(3 * math.sqrt(12 / 3))


@pytest.mark.parametrize("name", examples())
def test_every_shipped_build_fits_its_guard_bands(name: str) -> None:
    for band in _bands(load(name)):
        assert band.fits, f"{band.row}: {band.built_in:.4g} {band.unit} of {band.needed:.4g}"
        assert 0 <= band.likely <= band.needed


def _bands(build: Build) -> tuple[GuardBand, ...]:
    return guard_bands(build, settings(build))


def _band(build, word: str) -> GuardBand:
    return next(band for band in _bands(build) if band.word == word)


def test_a_band_that_does_not_fit_says_by_how_much_and_what_helps() -> None:
    """A monitor of 8 %: 1.5 A may read 0.12 A more, and 22.5 + 7.5 + 9.8 mA of the others.

    Half-way to a comparator at 1.68 A there are 127 mA.
    """
    band = _band(with_value(LAMP, "sensors.monitor_tolerance_pct", 8.0), "overcurrent_mA")
    assert not band.fits
    assert band.built_in == pytest.approx(0.127, abs=1e-3)
    assert band.needed == pytest.approx(0.1598, abs=1e-3)
    assert band.terms[0].name == "monitor-gain"
    assert "monitor" in band.mend


def test_wider_parts_need_wider_bands() -> None:
    for key, word in (
        ("sensors.voltage_tolerance_pct", "pack_max_mV"),
        ("sensors.monitor_tolerance_pct", "follow_mA"),
        ("stage.set_accuracy_pct", "comparator.trip_min_A"),
    ):
        needs = [_band(with_value(LAMP, key, pct), word).needed for pct in (0.5, 1.0, 2.0)]
        assert needs == sorted(needs), key
        assert needs[0] < needs[2]


def test_settings_hold_what_the_parts_need_where_the_usual_band_is_too_narrow() -> None:
    """By hand: a full 8.4 V pack may read 1 % (divider), 0.5 % (reference), 2 % (rail) and 34 mV
    (offset and noise) high, 8.728 V; 3 % would have been 8.652 V.
    """
    assert settings(LAMP)["pack_max_mV"] == 8729
    gel = load("gel_viewer")
    # half-way from the module's highest 0.77 A, not its nominal 0.70 A, to the trip at 0.82 A
    assert settings(gel)["overcurrent_mA"] == 795


def test_no_modelled_rise_is_judged_where_a_healthy_lamp_could_miss_a_third_of_it() -> None:
    """h (1 - pad) - (1 + power) / 3 of a bright, thin-padded smoke_tunnel leaves 2 K over 0.278."""
    cool = dataclasses.replace(LAMP.sensors, ntc_tolerance_degC=0.5)
    halved = settings(dataclasses.replace(LAMP, sensors=cool))["model_min_cK"]
    assert settings(LAMP)["model_min_cK"] == pytest.approx(2 * halved, abs=2)
    # a white LED leaves so little heat that nothing within its reach can be told
    assert settings(load("cave_lamp"))["model_min_cK"] > 2000
