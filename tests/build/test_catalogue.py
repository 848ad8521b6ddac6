"""Generic parts against published tables and worked figures."""

import math
from collections.abc import Callable, Mapping

import pytest

from diodewright.build import CHEMISTRIES, KEYS, Part, Problem, fit_forward, load_text, parts
from diodewright.build.check import check_value
from diodewright.build.part import of_a_part

Problems = Callable[..., tuple[Problem, ...]]


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


def test_a_mosfet_that_a_pin_cannot_turn_on_says_so_in_its_name(problems: Problems) -> None:
    # RP2040 data sheet: a high output is at least 2.62 V
    for part in parts("cutoffs.a_part"):
        volts = _values(part.name)["a_vgs_guaranteed_V"]
        assert (volts > 2.62) is ("4V5" in part.name)
        found = problems({"cutoffs.a_part": f'"{part.name}"'})
        assert [problem.rule for problem in found] == ["gate_drive"] * ("4V5" in part.name)
        assert all("(assumed) a controller's pin" in str(problem) for problem in found)


@pytest.mark.parametrize("part", parts(), ids=lambda part: part.name)
def test_every_value_of_a_part_fits_the_key_table_and_has_a_source(part: Part) -> None:
    rows = {key.path: key for key in KEYS}
    assert rows[part.key].kind == "part"
    assert part.meaning
    for value in part.values:
        row = rows[f"{part.key.split('.')[0]}.{value.key}"]
        assert value.source
        assert of_a_part(part.key, row)
        raw = value.value
        listed = [list(point) for point in raw] if isinstance(raw, tuple) else raw
        assert check_value(row, listed) == raw


def test_part_names_are_unique_and_carry_no_brand() -> None:
    names = [part.name for part in parts()]
    assert len(set(names)) == len(names)
    begins = ("li_ion_", "nimh_", "alkaline_", "mosfet_n_", "ntc_10k", "led_", "laser_")
    for name in names:
        assert name.startswith(begins)


# what a pack of each chemistry needs of the limits: cells in series and V a cell
PACKS: Mapping[str, tuple[int, tuple[float, float, float, float, float]]] = {
    "lithium_ion": (2, (3.45, 3.25, 3.0, 3.25, 3.65)),
    "nimh": (6, (1.2, 1.1, 1.0, 1.1, 1.3)),
    "alkaline": (6, (1.2, 1.1, 0.9, 1.1, 1.5)),
}


def _pack(part: Part) -> dict[str, str | None]:
    value = part.value("chemistry")
    assert value
    series, cell_V = PACKS[str(value.value)]
    names = ("cutback", "cutback_end", "loaded_min", "lockout", "rearm")
    return {
        "pack.part": f'"{part.name}"',
        "pack.series": str(series),
        "pack.capacity_Ah": None,
        "pack.cell_resistance_mohm": None,
        **{
            f"limits.pack_{name}_V": f"{series * volts:g}"
            for name, volts in zip(names, cell_V, strict=True)
        },
    }


def _diode(part: Part) -> dict[str, str | None]:
    """Return the edits that size the example for a diode: 0.8 of its rated current."""
    values = {value.key: value.value for value in part.values}
    full_A = 0.8 * float(values["rated_A"])  # type: ignore[arg-type]
    forward = fit_forward(values["forward_points_A_V"])  # type: ignore[arg-type]
    over_V = forward.voltage_V(full_A) + float(values["forward_spread_V"]) + 0.5  # type: ignore[arg-type]
    led_only = ("spectrum", "fwhm_nm", "colour_temperature_K", "emitter_mm2")
    given = [key for key in values if key not in ("reverse_max_V", "slope_T1_K", *led_only)]
    edits: dict[str, str | None] = {f"diode.{key}": None for key in given}
    if values["kind"] == "led":
        edits |= {
            "diode.threshold_T0_K": None,
            "enclosure.beam_mm": None,
            "enclosure.divergence_mrad": None,
        }
    return edits | {
        "diode.slope_T1_K": None,
        "diode.part": f'"{part.name}"',
        "levels.full_A": f"{full_A:g}",
        "levels.half_A": f"{full_A / 2:g}",
        "levels.reserve_A": f"{full_A / 4:g}",
        "limits.start_level_A": f"{full_A / 8:g}",
        "stage.full_scale_A": f"{1.05 * full_A:g}",
        "comparator.trip_min_A": f"{1.08 * full_A:g}",
        "comparator.trip_max_A": f"{1.2 * full_A:g}",
        "comparator.over_voltage_V": f"{over_V:g}",
        "sensors.monitor_gain_V_A": f"{2.4 / full_A:g}",
    }


def _edits(part: Part) -> dict[str, str | None]:
    if part.key == "pack.part":
        return _pack(part)
    if part.key == "diode.part":
        return _diode(part)
    return {part.key: f'"{part.name}"'}


@pytest.mark.parametrize("part", parts(), ids=lambda part: part.name)
def test_every_part_loads_in_a_build_sized_for_it_and_fills_in_its_values(
    part: Part, edit: Callable[..., str], problems: Problems
) -> None:
    about_it = {"mosfet_n_4V5_10mohm": ["gate_drive"]}
    found = problems(_edits(part))
    assert [problem.rule for problem in found] == about_it.get(part.name, []), found
    if found:
        return
    build = load_text(edit(_edits(part)), "x")
    assumed = {each.key: each for each in build.assumed}
    section = part.key.split(".")[0]
    for value in part.values:
        assert getattr(getattr(build, section), value.key) == value.value
        row = assumed[f"{section}.{value.key}"]
        assert row.value == value.value
        assert row.source == f"{part.name}: {value.source}"


def test_every_chemistry_and_kind_of_diode_has_a_part() -> None:
    def said(taker: str, key: str) -> set[object]:
        found = [part.value(key) for part in parts(taker)]
        return {value.value for value in found if value}

    assert said("pack.part", "chemistry") == set(CHEMISTRIES)
    assert said("diode.part", "kind") == {"laser_diode", "led"}
    assert said("sensors.ntc_part", "ntc_curve") == {"steinhart_hart", "beta"}
