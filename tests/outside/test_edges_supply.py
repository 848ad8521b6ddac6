"""The controller's hold-up capacitor: its energy against a circuit simulation."""

from pathlib import Path

import numpy as np
import pytest

from diodewright.build import examples, load
from diodewright.derive.edges import supply
from diodewright.derive.electrics import parameters
from diodewright.edges.supply import Supply, hold_up_s, lowest_input_V
from netlists import given, simulate

FIELDS = ("hold_up_F", "drop_V", "load_W")


@pytest.mark.parametrize("lasts_ms", [0.5, 2.0, 12.0, 40.0])
@pytest.mark.parametrize("name", ["smoke_tunnel", "cave_lamp"])
def test_a_dip_leaves_the_regulator_what_the_simulated_capacitor_leaves_it(
    name: str, lasts_ms: float, tmp_path: Path
) -> None:
    # Judge: ngspice on supply_dip.cir, within 1 %: short dips end on the capacitor, long ones on
    # the sagged pack.
    build = load(name)
    of = supply(build, parameters(build))
    before_V = build.limits.pack_lockout_V
    during_V = 0.85 * before_V
    dip = {
        "before_V": before_V,
        "during_V": during_V,
        "lasts_s": lasts_ms * 1e-3,
        "stop_s": (lasts_ms + 2) * 1e-3,
        "step_s": 5e-6,
    }
    _, input_V = simulate("supply_dip", tmp_path, {**given(of, *FIELDS), **dip})
    found_V = lowest_input_V(of, before_V, during_V, lasts_ms * 1e-3)
    assert found_V == pytest.approx(input_V.min(), rel=0.01)


@pytest.mark.parametrize("name", examples())
def test_the_supply_lasts_as_long_as_the_simulated_one(name: str, tmp_path: Path) -> None:
    # Judge: ngspice, pack lost at the loaded minimum; time to the regulator's lowest input, 1 %.
    build = load(name)
    of = supply(build, parameters(build))
    before_V = build.limits.pack_loaded_min_V
    lasts_s = hold_up_s(of, before_V)
    lost = {
        "before_V": before_V,
        "during_V": 0.0,
        "lasts_s": 2 * lasts_s,
        "stop_s": 0.1e-3 + 1.2 * lasts_s,
        "step_s": lasts_s / 2000,
    }
    time_s, input_V = simulate("supply_dip", tmp_path, {**given(of, *FIELDS), **lost})
    crossed_s = float(np.interp(-of.least_V, -input_V, time_s)) - 0.1e-3
    assert lasts_s == pytest.approx(crossed_s, rel=0.01)


def test_the_energy_sum_of_a_capacitor() -> None:
    # C (v0^2 - v1^2) / 2 = P t: 100 uF from 3 V to 2 V is 250 uJ, 2.5 ms at 0.1 W.
    of = Supply(hold_up_F=100e-6, drop_V=0.0, load_W=0.1, least_V=2.0)
    assert hold_up_s(of, 3.0) == pytest.approx(2.5e-3)
    assert hold_up_s(of, 1.9) == 0.0
    assert lowest_input_V(of, 3.0, 0.0, 2.5e-3) == pytest.approx(2.0)
    assert lowest_input_V(of, 3.0, 2.4, 2.5e-3) == pytest.approx(2.4)
    assert lowest_input_V(of, 3.0, 0.0, 1.0) == 0.0
