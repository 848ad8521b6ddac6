"""What a fit says of its own uncertainty, against what repeated experiments do."""

import math
from collections.abc import Mapping

import numpy as np
import pytest
from made import LADDER, SMOKE, made

from diodewright.bench.solving import Knob, hang_together, solved
from diodewright.sim import compiled, plain

TIME_S = np.linspace(0.0, 20.0, 400)
TRUE = {"rise_K": 10.0, "tau_s": 6.0}
KNOBS = (
    Knob("rise_K", 8.0, "heat.sink_air_K_W", "the rise", "K"),
    Knob("tau_s", 5.0, "heat.sink_J_K", "its time", "s"),
    Knob("air", 0.0, "", "the air", "degC", scales=False),
)


def _curve(values: Mapping[str, float]) -> np.ndarray:
    risen = values["rise_K"] * (1 - np.exp(-TIME_S / values["tau_s"]))
    return np.asarray(risen + values.get("air", 0.0))


def _noise(rng: np.random.Generator, kept: float) -> np.ndarray:
    """Return noise of 0.2 K of which each reading keeps a share of the one before (AR(1))."""
    fresh = rng.normal(0, 0.2 * math.sqrt(1 - kept * kept), len(TIME_S))
    out = np.zeros_like(fresh)
    out[0] = rng.normal(0, 0.2)
    for at in range(1, len(out)):
        out[at] = kept * out[at - 1] + fresh[at]
    return out


@pytest.mark.parametrize(("kept", "off"), [(0.0, 0.2), (0.8, 0.4)])
def test_stated_uncertainty_is_that_of_a_monte_carlo(kept: float, off: float) -> None:
    """Judge: 150 repeated experiments; readings that hang together make it larger, and it says so.

    lmfit alone would say the same for both kinds of noise, three times too little for the second.
    """
    rng = np.random.default_rng(7)
    found, said = [], []
    for _ in range(150):
        seen = _curve(TRUE) + _noise(rng, kept)
        fit = solved(KNOBS, lambda values, seen=seen: {"one": _curve(values) - seen})
        found.append([fit.value(name) for name in TRUE])
        said.append([each.spread / 2 for each in fit.every[:2]])
    scatter = np.std(found, axis=0)
    assert np.mean(said, axis=0) == pytest.approx(scatter, rel=off)
    away = np.abs(np.mean(found, axis=0) - list(TRUE.values()))
    assert (away < 4 * scatter / math.sqrt(150)).all()


def test_how_long_noise_hangs_together_is_the_closed_form() -> None:
    """AR(1) of coefficient f: (1 + f) / (1 - f) (Sokal 1996, from memory)."""
    rng = np.random.default_rng(3)
    fresh = rng.normal(size=200_000)
    kept = np.zeros_like(fresh)
    for at in range(1, len(kept)):
        kept[at] = 0.7 * kept[at - 1] + fresh[at]
    assert hang_together(fresh) == pytest.approx(1.0, abs=0.02)
    # cut where it is below a twentieth: it stops a little short
    assert hang_together(kept) == pytest.approx(1.7 / 0.3, rel=0.08)
    assert hang_together(np.zeros(50)) == 1.0


def test_two_quantities_that_only_show_as_one_are_told_and_the_weaker_is_kept() -> None:
    seen = _curve(TRUE) + np.random.default_rng(1).normal(0, 0.05, len(TIME_S))
    twins = (
        Knob("a", 2.0, "heat.a", "part a", "K/W"),
        Knob("b", 4.0, "heat.b", "part b", "K/W"),
        Knob("tau_s", 6.0, "heat.tau", "its time", "s"),
    )
    fit = solved(
        twins,
        lambda v: {"one": _curve({"rise_K": v["a"] * v["b"], "tau_s": v["tau_s"]}) - seen},
    )
    kept = [each for each in fit.every if each.kept]
    assert len(kept) == 1 and kept[0].knob.name in ("a", "b")
    assert kept[0].value == kept[0].knob.start and kept[0].spread == 0
    assert kept[0].kept.startswith("not told from part ")
    assert fit.value("a") * fit.value("b") == pytest.approx(10.0, rel=0.02)


def test_what_is_not_seen_at_all_is_kept() -> None:
    seen = _curve(TRUE)
    knobs = (*KNOBS[:2], Knob("mass", 3.0, "heat.mass", "a mass", "J/K"))
    noisy = seen + np.random.default_rng(1).normal(0, 0.05, len(TIME_S))
    fit = solved(knobs, lambda values: {"one": _curve(values) - noisy})
    mass = fit.every[2]
    assert mass.kept and mass.value == 3.0
    assert not fit.every[0].kept and not fit.every[1].kept


@pytest.mark.parametrize("what", ["heat", "pack", "outputs"])
def test_a_followed_plant_is_the_same_to_the_bit_in_both_engines(what: str) -> None:
    from diodewright.bench.driven import Driven

    trace = made(SMOKE, LADDER, until_s=40).trace
    part = slice(70, 190)  # dark, the rise, and light
    seen = {name: values[part] for name, values in trace.columns.items()}
    rows = []
    for engine in (compiled(), plain()):
        driven = Driven(SMOKE, engine, seen["time_s"])
        amperes, volts = seen["current_read_A"], seen["output_read_V"]
        if what == "heat":
            rows.append(driven.heat({}, (30.0, 31.0), amperes, volts, seen["pack_read_V"]))
        elif what == "pack":
            rows.append(driven.pack({}, 0.7, amperes, volts, seen["enable"]))
        else:
            rows.append(driven.outputs({}, (30.0, 31.0), 0.7, seen["duty"], seen["enable"], 0.4))
    for name, values in rows[0].items():
        assert np.array_equal(values, rows[1][name]), name
    assert rows[0]["pack_A"].max() > 0.3 or what == "heat"


def test_a_plant_followed_by_the_laws_outputs_is_the_loops_own() -> None:
    from diodewright.bench.driven import Driven

    # every tick, as a burst has it: the loop's plant and the followed one see the same outputs
    record = made(SMOKE, {"adc_noise_lsb": 0.0}, until_s=20, rate_Hz=1000)
    trace = record.trace
    ready = np.isfinite(trace["mount_read_degC"])
    seen = {name: values[ready] for name, values in trace.columns.items()}
    driven = Driven(SMOKE, compiled(), seen["time_s"], 0.00025)
    rows = driven.outputs({}, (30.0, 30.0), 0.9, seen["duty"], seen["enable"])
    lit = seen["drive_A"] > 0
    # a reading is of the moment before its tick's outputs: at most one count away
    assert np.abs(rows["current_A"] - seen["current_read_A"])[lit].max() < 0.003
    assert np.abs(rows["sink_degC"] - seen["sink_read_degC"]).max() < 0.06
    assert np.abs(rows["pack_V"] - seen["pack_read_V"])[~lit].max() < 0.008
