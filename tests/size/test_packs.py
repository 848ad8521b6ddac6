"""The same load on other packs: by hand, and what must be told about each."""

import dataclasses
import math

import pytest

from diodewright.build import CHEMISTRIES, Build, load, parts
from diodewright.size import PackRow, compare_packs, size
from diodewright.size.packs import COMPARED


def _rows(build: Build) -> dict[str, PackRow]:
    return {row.pack: row for row in compare_packs(build)[1]}


def _red(level_A: float) -> Build:
    """Return the tunnel's stage into a red LED of 1.9 V and 0.2 ohm at `level_A` [A]."""
    build = load("smoke_tunnel")
    diode = dataclasses.replace(
        build.diode,
        kind="led",
        forward_points_A_V=((0.1, 1.92), (0.5, 2.0), (1.0, 2.1)),
        forward_tempco_mV_K=0.0,
        light_points_A_W=((0.1, 0.05), (0.5, 0.25), (1.0, 0.5)),
    )
    levels = dataclasses.replace(build.levels, reserve_A=level_A / 2, others=(("full_A", level_A),))
    return dataclasses.replace(build, diode=diode, levels=levels)


@pytest.fixture(scope="module")
def tunnel() -> dict[str, PackRow]:
    return _rows(load("smoke_tunnel"))


def test_own_pack_draws_what_the_size_summary_says(tunnel: dict[str, PackRow]) -> None:
    """At full: 7.113 W / 0.93 from 8.4 V behind 0.2364 ohm (2 x (65 + 23.22) + 60 mohm).

    The summary works the stage's own losses out, which are 6 to 7 %, and adds the controller's.
    """
    figures = {figure.id: figure.value for figure in size(load("smoke_tunnel"))}
    own = tunnel["own cells"]
    ohm = 2 * (0.065 + 0.06038 / 2.6) + 0.06
    assert own.sag_V == pytest.approx(7.113 / 0.93 / (8.4 - own.sag_V) * ohm, rel=1e-3)
    assert own.sag_V == pytest.approx(figures["sag_V"], rel=0.02)
    assert own.loaded_V == pytest.approx(8.4 - own.sag_V, rel=1e-6)
    assert own.verdict == "fits" and own.finding == ""
    # down to 2.75 V a cell, not to the cutback of the build
    assert own.light_s / 60 > figures["battery_min"]


def test_minutes_are_the_energy_of_the_curve_over_the_load(tunnel: dict[str, PackRow]) -> None:
    """By hand for two 18650: charge times mean volts, less I^2 R, over 7.113 W / 0.93.

    Chen2020 from 3 % to full: mean 3.75 V a cell; 0.97 x 2.6 Ah; about 1.02 A on the way.
    """
    load_W = 7.113 / 0.93
    energy_J = 0.97 * 2.6 * 3600 * 2 * 3.75
    lost_W = (load_W / 7.3) ** 2 * 0.236
    found_s = tunnel["2 Li-ion 18650"].light_s
    assert found_s == pytest.approx(energy_J / (load_W + lost_W), rel=0.03)


def test_the_highest_current_is_that_of_the_lowest_voltage(tunnel: dict[str, PackRow]) -> None:
    """A constant power draws most at its end: P = V I at the last step above the floor."""
    row = tunnel["2 Li-ion 14500"]
    assert row.pack_A * 5.5 == pytest.approx(7.113 / 0.93, rel=0.05)
    assert row.ratio == pytest.approx(row.pack_A / 1.6)
    assert row.sag_V is not None and row.pack_A > 1.3 * row.sag_V / 0.41


def test_one_cell_can_not_drive_a_diode_above_its_voltage(tunnel: dict[str, PackRow]) -> None:
    for cell in ("10440", "14500", "18650"):
        row = tunnel[f"1 Li-ion {cell}"]
        assert row.verdict == "can't drive"
        assert "need 4.89 V, full and at rest it has 4.20 V" in row.finding
        assert row.light_s == 0 and row.loaded_V is None and row.sag_V is None


def test_a_rating_exceeded_is_a_finding_with_its_ratio_and_source(
    tunnel: dict[str, PackRow],
) -> None:
    """0.35 A of a 10440 (from memory) against 1.38 A at the end of its charge."""
    row = tunnel["2 Li-ion 10440"]
    assert row.verdict == "beyond rating"
    assert row.ratio == pytest.approx(3.9, rel=0.03)
    assert f"{row.ratio:.2f} times the 0.35 A" in row.finding
    assert "typical, no source" in row.finding
    # and is told beside the volts that are missing, not instead of them
    alkaline = tunnel["2 alkaline AAA"]
    assert alkaline.verdict == "can't drive"
    assert alkaline.pack_A == pytest.approx(7.113 / 0.93 / 3.18, rel=1e-3)
    assert f"{alkaline.ratio:.2f} times the 0.35 A" in alkaline.finding


def test_a_pair_of_aaa_carries_a_small_red_load() -> None:
    """0.15 A at 1.93 V is 0.31 W of the pack.

    By hand: NiMH at 2.5 V gives 0.125 A, 0.7 Ah last 5.4 h; alkaline at 2.6 V less a sag of 0.13 A
    through 1.66 ohm gives 0.13 A, 0.8 Ah last 6.2 h.
    """
    rows = _rows(_red(0.15))
    nimh, alkaline = rows["2 NiMH AAA"], rows["2 alkaline AAA"]
    assert nimh.verdict == alkaline.verdict == "fits"
    assert nimh.light_s == pytest.approx(5.4 * 3600, rel=0.05)
    assert alkaline.light_s == pytest.approx(6.2 * 3600, rel=0.05)
    assert nimh.ratio < 0.25 and 0.3 < alkaline.ratio < 0.6
    assert alkaline.sag_V == pytest.approx(0.31 / 3.0 * (4 * 0.4 + 0.06), rel=0.05)


def test_a_red_load_of_an_ampere_collapses_a_pair_of_alkaline_aaa() -> None:
    """2.4 W of the stage; V^2/4R = 3.18^2 / (4 x 1.66) = 1.52 W is all that they can give."""
    alkaline = _rows(_red(1.0))["2 alkaline AAA"]
    assert alkaline.verdict == "can't drive"
    assert "need 2.34 V, full it collapses" in alkaline.finding
    assert "times the 0.35 A" in alkaline.finding


def test_a_pack_that_sags_below_its_cells_own_cut_off_is_told_by_that() -> None:
    """3.0 W from 4.2 V behind 1.37 ohm: (4.2 + sqrt(4.2^2 - 4 x 1.37 x 3.0))/2 = 2.6 V."""
    build = _red(1.2)
    thin = dataclasses.replace(build, pack=dataclasses.replace(build.pack, wiring_mohm=1000))
    row = _rows(thin)["1 Li-ion 10440"]
    assert row.verdict == "can't drive"
    assert "its cells must not fall below 2.75 V, full it sags to 2." in row.finding
    assert "times the 0.35 A" in row.finding


def test_a_linear_stage_turns_a_second_cell_into_heat() -> None:
    """2.5 A from 8.4 - 0.54 V into 3.20 V: 11.7 W; from 4.2 - 0.32 V: 1.7 W."""
    rows = _rows(load("cave_lamp"))
    assert rows["2 Li-ion 18650"].lost_W == pytest.approx(11.7, rel=0.01)
    assert rows["1 Li-ion 18650"].lost_W == pytest.approx(1.7, rel=0.03)
    assert rows["2 Li-ion 18650"].pack_A == rows["1 Li-ion 18650"].pack_A
    assert rows["1 Li-ion 18650"].verdict == "short of volts"


def test_a_bench_supply_is_compared_to_but_has_no_row_of_its_own() -> None:
    rows = _rows(load("smoke_tunnel_bench"))
    assert list(rows) == [said for _, _, said in COMPARED]
    own = _rows(load("smoke_tunnel"))
    assert rows["2 Li-ion 18650"].light_s == own["2 Li-ion 18650"].light_s


def test_every_row_is_the_catalogues_cell_with_a_source(tunnel: dict[str, PackRow]) -> None:
    cells = {part.name: part for part in parts("pack.part")}
    for name, series, said in COMPARED:
        row, cell = tunnel[said], cells[name]
        rated = cell.value("discharge_continuous_A")
        chemistry = cell.value("chemistry")
        assert rated is not None and chemistry is not None
        assert (row.part, row.series, row.parallel) == (name, series, 1)
        assert (row.rated_A, row.rated_source) == (rated.value, rated.source)
        assert row.rated_source
        full_V = series * CHEMISTRIES[str(chemistry.value)].rested_full_V
        assert row.rested_V == pytest.approx(full_V)
        assert math.isfinite(row.pack_A) and row.ratio == pytest.approx(row.pack_A / row.rated_A)
