"""The chemistry of the cells: who says it, what it decides, and what it will not let pass."""

from collections.abc import Callable, Mapping
from itertools import pairwise

import pytest

from diodewright.build import CHEMISTRIES, Problem, load_text

Edits = Mapping[str, str | None]
Problems = Callable[..., tuple[Problem, ...]]

OWN: Edits = {"pack.part": None}
# six cells of a low voltage: limits that any of them can meet
NIMH: Edits = {
    "pack.part": '"nimh_aa_1900"',
    "pack.series": "6",
    "limits.pack_cutback_V": "7.2",
    "limits.pack_cutback_end_V": "6.6",
    "limits.pack_loaded_min_V": "6.0",
    "limits.pack_lockout_V": "6.6",
    "limits.pack_rearm_V": "7.8",
}
ALKALINE: Edits = {**NIMH, "pack.part": '"alkaline_aa"', "limits.pack_rearm_V": "9.0"}


@pytest.mark.parametrize("word", CHEMISTRIES)
def test_a_curve_is_thirteen_rising_points_from_empty_to_full(word: str) -> None:
    curve_V = CHEMISTRIES[word].curve_V
    assert len(curve_V) == 13
    assert curve_V[0][0] == 0
    assert curve_V[-1][0] == 1
    for before, after in pairwise(curve_V):
        assert after[0] > before[0]
        assert after[1] > before[1]


@pytest.mark.parametrize("word", CHEMISTRIES)
def test_windows_and_defaults_of_a_chemistry_agree(word: str) -> None:
    each = CHEMISTRIES[word]
    for key, window_V in (
        ("cell_min_V", each.empty_window_V),
        ("cell_full_V", each.full_window_V),
    ):
        default_V, source = each.defaults[key]
        assert source
        assert isinstance(default_V, float)
        assert window_V[0] <= default_V <= window_V[1]
    assert each.empty_window_V[1] < each.full_window_V[0], "no cell is both empty and full"
    assert each.curve_source
    assert each.recovery_source
    assert each.caution.endswith(".")


def test_without_a_part_the_chemistry_is_asked_for(problems: Problems) -> None:
    (problem,) = problems(OWN)
    assert str(problem).endswith(
        "pack.chemistry: missing: what the cells are made of; allowed "
        '"lithium_ion", "nimh", "alkaline"; write it, or name a part in part'
    )
    assert problems({**OWN, "pack.chemistry": '"lithium_ion"'}) == ()


def test_a_near_word_of_a_chemistry_is_told(problems: Problems) -> None:
    (problem,) = problems({**OWN, "pack.chemistry": '"lithium-ion"'})
    assert problem.mend == 'did you mean "lithium_ion"?'


def test_a_part_is_of_its_own_chemistry(problems: Problems) -> None:
    (problem,) = problems({"pack.chemistry": '"nimh"'})
    assert str(problem).endswith(
        'pack.chemistry = "nimh": li_ion_18650_2600 is "lithium_ion"; '
        "leave it out, or choose another part"
    )
    assert problems({"pack.chemistry": '"lithium_ion"'}) == ()


def test_a_diode_class_is_of_its_own_kind(problems: Problems) -> None:
    found = problems({"diode.part": '"led_red_630"'})
    assert [problem.key for problem in found] == ["diode.kind"]
    assert 'led_red_630 is "led"' in str(found[0])


def test_a_bench_supply_has_no_chemistry(edit: Callable[..., str], problems: Problems) -> None:
    assert load_text(edit({}, "bench_supply"), "x").pack.chemistry is None
    (problem,) = problems({"pack.chemistry": '"nimh"'}, "bench_supply")
    assert "only with pack.kind" in problem.wrong


@pytest.mark.parametrize(
    ("edits", "expected"),
    [
        (
            {**OWN, "pack.chemistry": '"lithium_ion"'},
            {
                "cell_min_V": 2.75,
                "cell_full_V": 4.2,
                "cold_factor": 3,
                "polarisation_s": 30.55,
                "polarisation_mohm": 60.38 / 2.6,
                "discharge_continuous_A": 2.6,
            },
        ),
        (
            {**NIMH, "pack.part": None, "pack.chemistry": '"nimh"'},
            {
                "cell_min_V": 1.0,
                "cell_full_V": 1.5,
                "cold_factor": 3,
                "polarisation_s": 30,
                "polarisation_mohm": 65,
                "discharge_continuous_A": 2.6,
            },
        ),
        (
            {**ALKALINE, "pack.part": None, "pack.chemistry": '"alkaline"'},
            {
                "cell_min_V": 0.9,
                "cell_full_V": 1.65,
                "cold_factor": 5,
                "polarisation_s": 60,
                "polarisation_mohm": 65,
                "discharge_continuous_A": 0.4 * 2.6,
            },
        ),
    ],
    ids=["lithium_ion", "nimh", "alkaline"],
)
def test_what_is_left_out_follows_the_chemistry_and_says_its_source(
    edit: Callable[..., str], edits: Edits, expected: Mapping[str, float]
) -> None:
    build = load_text(edit(edits), "x")
    assumed = {each.key: each for each in build.assumed}
    for key, value in expected.items():
        assert getattr(build.pack, key) == pytest.approx(value, rel=1e-6), key
        assert assumed[f"pack.{key}"].source


def test_a_lithium_cells_voltages_are_refused_for_other_chemistries(problems: Problems) -> None:
    found = problems({**NIMH, "pack.cell_full_V": "4.2", "pack.cell_min_V": "2.75"})
    rules = {problem.rule for problem in found}
    assert {"cell_empty", "cell_full"} <= rules
    (told,) = [problem for problem in found if problem.rule == "cell_full"]
    assert str(told).endswith(
        'pack.cell_full_V = 4.2: not a voltage of a cell with pack.chemistry = "nimh"; '
        "allowed: lithium_ion 3.9 to 4.4 V; nimh 1.35 to 1.6 V; alkaline 1.5 to 1.7 V"
    )


# lockout is at 6.6 V of six cells: NiMH recovers by 0.2 V a cell, alkaline by 0.4 V
@pytest.mark.parametrize(
    ("edits", "rearm_V", "rules"),
    [
        (NIMH, "7.79", ["rearm_recovery"]),
        (NIMH, "7.8", []),
        (ALKALINE, "8.99", ["rearm_recovery"]),
        (ALKALINE, "9.0", []),
        # a full pack off the charger has 9 V, at rest 6 x 1.42 V: above it it would never light
        (NIMH, "8.51", []),
        (NIMH, "8.53", ["rearm_full"]),
        (ALKALINE, "9.53", []),
        (ALKALINE, "9.55", ["rearm_full"]),
    ],
)
def test_rearm_lies_between_recovery_and_a_rested_pack(
    problems: Problems, edits: Edits, rearm_V: str, rules: list[str]
) -> None:
    found = problems({**edits, "limits.pack_rearm_V": rearm_V})
    assert [problem.rule for problem in found] == rules


def test_a_cell_charged_less_is_full_at_its_own_voltage(problems: Problems) -> None:
    found = problems({"pack.cell_full_V": "4.0", "limits.pack_rearm_V": "8.1"})
    assert [problem.rule for problem in found] == ["rearm_full"]


@pytest.mark.parametrize(("series", "rules"), [("4", []), ("5", ["pack_high"])])
def test_more_cells_than_the_controller_can_tell_are_refused(
    problems: Problems, series: str, rules: list[str]
) -> None:
    scaled = {
        f"limits.pack_{name}_V": f"{int(series) * volts:g}"
        for name, volts in (
            ("cutback", 3.45),
            ("cutback_end", 3.25),
            ("loaded_min", 3.0),
            ("lockout", 3.25),
            ("rearm", 3.65),
        )
    }
    edits = {**scaled, "pack.series": series, "sensors.pack_divider": "0.14"}
    assert [problem.rule for problem in problems(edits)] == rules
