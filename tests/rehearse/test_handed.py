"""What is handed over: every value of the build once, caps where the build says, cells that fit."""

import json
import math
from dataclasses import replace
from typing import Any

import pytest

from diodedriver import law, words
from diodewright.build import KEYS, examples, load
from diodewright.build.model import applies, value_of
from diodewright.derive import settings
from diodewright.rehearse.handed import card_of, derate_of, given_rows, versions


@pytest.mark.parametrize("name", examples())
def test_each_key_that_applies_is_given_or_assumed_and_never_both(name: str) -> None:
    build = load(name)
    given = {row["key"]: row["value"] for row in given_rows(build)}
    assumed = {row.key for row in build.assumed}
    assert not assumed & set(given)
    own = {f"levels.{level}" for level, _ in build.levels.others}
    expected = {
        key.path
        for key in KEYS
        if key.section and key.kind != "levels" and applies(build, key)
        if value_of(build, key.path) not in (None, ())
    }
    assert set(given) | assumed == expected | own
    assert given["diode.absolute_A"] == build.diode.absolute_A


@pytest.mark.parametrize("name", examples())
def test_all_that_is_handed_over_is_plain_and_small(name: str) -> None:
    build = load(name)
    made = [given_rows(build), derate_of(build), card_of(build), versions()]
    assert json.loads(json.dumps(made, allow_nan=False)) == made
    assert len(json.dumps(made)) < 15_000


def _at(fade: dict[str, Any], corner: float) -> float:
    at = fade.get("at_degC") or fade["at_V"]
    (found,) = {
        allowed
        for x, allowed in zip(at, fade["allowed_A"], strict=True)
        if x == pytest.approx(corner)
    }
    return float(found)


def test_caps_begin_and_end_where_the_build_file_says_and_leave_what_it_says() -> None:
    """From the build's own numbers: 1.5 A and 5 % of trim, 46 to 56 degC, 6.9 to 6.5 V, 0.3 A."""
    derate = derate_of(load("smoke_tunnel"))
    assert (derate["level_A"], derate["gate_A"]) == (1.5, 0)
    for fade, begin, end in (
        (derate["mount"], 46, 56),
        (derate["junction"], 125 - 20, 125 - 10),
        (derate["pack"], 6.9, 6.5),
    ):
        assert _at(fade, begin) == pytest.approx(1.575)
        assert _at(fade, end) == pytest.approx(0.3)
    assert derate["mount"]["dark_degC"] == 60
    assert derate["junction"]["dark_degC"] == 120
    assert derate["pack"]["dark_V"] == 6.5


def test_a_cap_is_straight_between_its_corners() -> None:
    """At 51 degC, half way from 46 to 56, the law itself allows the mean of both ends."""
    build = load("smoke_tunnel")
    mount = derate_of(build)["mount"]
    middle_A = (_at(mount, 46) + _at(mount, 56)) / 2
    readings = [0] * len(words.READINGS)
    for name, value in (("rest_mV", 60_000), ("lead_cK", 27315 + 5100)):
        readings[[row[0] for row in words.READINGS].index(name)] = value
    allowed_mA = law.allow(words.first_state(), words.assemble(settings(build)), readings)
    assert allowed_mA / 1000 == pytest.approx(middle_A, abs=0.001)


def test_a_gated_light_says_that_it_knows_only_full_or_dark() -> None:
    derate = derate_of(load("gel_viewer"))
    assert 0 < derate["gate_A"] < 0.01
    assert _at(derate["mount"], 60) < derate["gate_A"]


def test_rest_is_three_time_constants_of_sink_and_mount() -> None:
    """5 K/W and 60 + 12 J/K: 360 s, and after three of them e**-3 = 5 % is left."""
    assert card_of(load("smoke_tunnel"))["cool_s"] == pytest.approx(3 * 5.0 * (60 + 12))
    assert math.exp(-3) == pytest.approx(0.05, abs=0.001)


@pytest.mark.parametrize(
    ("chemistry", "says"),
    [("lithium_ion", "to 4.2 V"), ("nimh", "all together"), ("alkaline", "never")],
)
def test_each_chemistry_says_how_it_is_charged(chemistry: str, says: str) -> None:
    build = load("smoke_tunnel")
    cells = card_of(replace(build, pack=replace(build.pack, chemistry=chemistry)))["cells"]
    assert says in cells["charging"]


def test_a_bench_supply_has_no_cells_and_a_dummy_no_wavelength() -> None:
    bench, dummy = card_of(load("smoke_tunnel_bench")), card_of(load("smoke_tunnel_dummy"))
    assert (bench["cells"], bench["supply_V"]) == (None, 8.4)
    assert (dummy["wavelength_nm"], dummy["supply_V"]) == (None, None)
    assert dummy["cells"]["series"] == 2
