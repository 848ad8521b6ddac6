"""The first peak of an enabled stage, against a circuit simulation of the same stage."""

from dataclasses import replace
from pathlib import Path

import pytest

from diodewright.build import examples, load
from diodewright.derive.edges import starting
from diodewright.derive.electrics import parameters
from diodewright.edges.turn_on import Starting, turn_on
from netlists import diode, given, simulate

SWITCHING = [name for name in examples() if load(name).stage.kind != "linear"]
FIELDS = (
    "source_V",
    "source_ohm",
    "high_ohm",
    "low_ohm",
    "inductor_ohm",
    "inductor_H",
    "output_F",
    "set_A",
    "ripple_A",
    "react_s",
)


def _starting(name: str) -> Starting:
    build = load(name)
    return starting(build, parameters(build))


@pytest.mark.parametrize("react_us", [0.2, 1.0])
@pytest.mark.parametrize("name", SWITCHING)
def test_the_first_peak_is_that_of_the_simulated_stage(
    name: str, react_us: float, tmp_path: Path
) -> None:
    # Judge: ngspice on hardware_notes/netlists/turn_on.cir, the diode's whole curve. Within 1 %.
    of = replace(_starting(name), react_s=react_us * 1e-6)
    found = turn_on(of)
    span = {"stop_s": 2.5 * found.peak_s + 5e-6, "step_s": 5e-9}
    values = {**given(of, *FIELDS), **diode(load(name)), **span}
    _, inductor_A, diode_A, _ = simulate("turn_on", tmp_path, values)
    assert found.inductor_peak_A == pytest.approx(inductor_A.max(), rel=0.01)
    assert found.diode_peak_A == pytest.approx(diode_A.max(), rel=0.01)


def test_the_inductor_passes_its_threshold_by_what_the_reaction_time_adds() -> None:
    # Closed form: slope (V - v) / L held over the reaction time; v at the diode's own voltage.
    of = replace(_starting("smoke_tunnel"), source_ohm=1e-6, high_ohm=1e-6, inductor_ohm=1e-6)
    top_A = of.set_A + 0.5 * of.ripple_A
    slope_A_s = (of.source_V - of.knee_V - of.diode_ohm * top_A) / of.inductor_H
    for react_s in (0.0, 0.2e-6, 0.5e-6):
        peak_A = turn_on(replace(of, react_s=react_s)).inductor_peak_A
        assert peak_A == pytest.approx(top_A + slope_A_s * react_s, rel=2e-3)


def test_a_pack_too_low_for_the_threshold_gives_what_the_resistances_allow() -> None:
    of = replace(_starting("smoke_tunnel"), source_V=4.0)
    path_ohm = of.source_ohm + of.high_ohm + of.inductor_ohm + of.diode_ohm
    settled_A = (4.0 - of.knee_V) / path_ohm
    assert settled_A < of.set_A
    assert turn_on(of).diode_peak_A == pytest.approx(settled_A, rel=0.01)
