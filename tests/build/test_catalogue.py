"""Generic parts against published tables and worked figures."""

import math

import pytest

from diodewright.build import KEYS, Part, parts


def _values(name: str) -> dict[str, float]:
    (part,) = [each for each in parts() if each.name == name]
    return {value.key: value.value for value in part.values if not isinstance(value.value, str)}


# Campbell Scientific 109SS manual, table C-1 (10K3MCD1 material); 60 and 100 degC from the
# Fronius manual's table of the same material (read second-hand; a +-4.7 % part)
PUBLISHED = ((-40, 336103.2), (-20, 97006.9), (0, 32650.9), (25, 10000), (60, 2488), (100, 680))


@pytest.mark.parametrize(("degC", "ohm"), PUBLISHED)
def test_ntc_10k_follows_the_published_table_within_a_tenth_of_a_kelvin(
    degC: float, ohm: float
) -> None:
    row = _values("ntc_10k")
    log = math.log(ohm)
    kelvin = 1 / (row["ntc_sh_a_1_K"] + row["ntc_sh_b_1_K"] * log + row["ntc_sh_c_1_K"] * log**3)
    assert kelvin - 273.15 == pytest.approx(degC, abs=0.1)


# ideal Beta equation, computed apart from this project
@pytest.mark.parametrize(
    ("name", "degC", "ohm"),
    [
        ("ntc_10k_b3950", 0, 33620.6),
        ("ntc_10k_b3950", 60, 2486.2),
        ("ntc_10k_b3950", 85, 1086.7),
        ("ntc_10k_b3435", 0, 28704.3),
        ("ntc_10k_b3435", 85, 1451.3),
    ],
)
def test_beta_thermistors_follow_their_equation(name: str, degC: float, ohm: float) -> None:
    row = _values(name)
    inverse = 1 / (degC + 273.15) - 1 / 298.15
    resistance = 1000 * row["ntc_25_kohm"] * math.exp(row["ntc_beta_K"] * inverse)
    assert resistance == pytest.approx(ohm, rel=1e-4)


# closed form of a MOSFET's self-heating, Tj = (Ta + g' (1 - 25 a)) / (1 - g' a), g' = th I^2 R25;
# figures computed apart from this project
@pytest.mark.parametrize(
    ("name", "current_A", "degC"),
    [
        ("mosfet_n_logic_20mohm", 3, 52.71),
        ("mosfet_n_logic_30mohm", 5, 105.13),
        ("mosfet_n_logic_60mohm", 3, 149.53),
    ],
)
def test_mosfet_rows_give_the_worked_junction_temperature(
    name: str, current_A: float, degC: float
) -> None:
    row = _values(name)
    per_K = row["a_tempco_pct_K"] / 100
    gain = row["a_theta_K_W"] * current_A**2 * row["a_rds_mohm"] / 1000
    junction = (40 + gain * (1 - 25 * per_K)) / (1 - gain * per_K)
    assert junction == pytest.approx(degC, abs=0.01)


def test_every_mosfet_is_guaranteed_at_what_a_pin_is_sure_of() -> None:
    # RP2040 data sheet: a high output is at least 2.62 V
    for part in parts("cutoffs.a_part"):
        assert _values(part.name)["a_vgs_guaranteed_V"] <= 2.5


# makers' data sheets of cells (read; generic names): capacity Ah, continuous A, cut-off V
@pytest.mark.parametrize(
    ("name", "capacity_Ah", "continuous_A", "min_V"),
    [
        ("li_ion_18650_2600", 2.6, 3 * 2.6, 2.75),
        ("li_ion_18650_2200", 2.2, 1 * 2.2, 2.75),
        ("li_ion_14500_800", 0.8, 2 * 0.8, 2.75),
        ("li_ion_18350_1400", 1.4, 3.0, 2.5),
    ],
)
def test_cell_rows_are_those_of_the_data_sheets(
    name: str, capacity_Ah: float, continuous_A: float, min_V: float
) -> None:
    row = _values(name)
    assert row["capacity_Ah"] == capacity_Ah
    assert row["discharge_continuous_A"] == pytest.approx(continuous_A)
    assert row["cell_min_V"] == min_V
    assert row["cell_full_V"] == 4.2


@pytest.mark.parametrize("part", parts(), ids=lambda part: part.name)
def test_every_value_of_a_part_fits_the_key_table_and_has_a_source(part: Part) -> None:
    rows = {key.path: key for key in KEYS}
    assert rows[part.key].kind == "part"
    assert part.meaning
    for value in part.values:
        row = rows[f"{part.key.split('.')[0]}.{value.key}"]
        assert value.source
        if isinstance(value.value, str):
            assert value.value in row.choices
        else:
            assert row.low <= value.value <= row.high


def test_part_names_are_unique_and_carry_no_brand() -> None:
    names = [part.name for part in parts()]
    assert len(set(names)) == len(names)
    for name in names:
        assert name.startswith(("li_ion_", "mosfet_n_logic_", "ntc_10k"))
