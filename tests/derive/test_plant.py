"""What the plant is given of the pack: the curve and circuit of its own chemistry."""

import dataclasses

import pytest

from diodewright.build import CHEMISTRIES, Build, load
from diodewright.derive.electrics import parameters
from diodewright.derive.plant import plant_values
from diodewright.plant.pack import cell_ocv_V


def _of(word: str | None, **pack: object) -> Build:
    build = load("smoke_tunnel")
    changed = dataclasses.replace(build.pack, chemistry=word, **pack)  # type: ignore[arg-type]
    return dataclasses.replace(build, pack=changed)


@pytest.mark.parametrize("word", CHEMISTRIES)
def test_the_plants_cell_rests_on_its_chemistrys_curve(word: str) -> None:
    p = parameters(_of(word, series=3))
    assert p.cells_series == 3
    for charge, volts in CHEMISTRIES[word].curve_V:
        assert cell_ocv_V(p, charge) == pytest.approx(volts, abs=1e-9)


def test_a_fresh_pack_is_never_taken_for_a_wrong_one() -> None:
    # a new alkaline or a just charged NiMH cell stands above the top of its rested curve
    for word, each in CHEMISTRIES.items():
        full_V = each.defaults["cell_full_V"][0]
        assert isinstance(full_V, float), word
        assert full_V >= each.rested_full_V


def test_a_bench_supply_needs_no_chemistry() -> None:
    values = plant_values(_of(None, kind="bench_supply", supply_V=8.4, supply_limit_A=3.0))
    assert values["bench_V"] == 8.4
