"""What fails is told at a slider of this build, in words with its figures."""

import pytest

from diodewright.build import examples, load
from diodewright.page.mends import GROUPS, group_of, said_of, slider_of, slider_of_text
from diodewright.tune import Constraint, tune_keys

_PATHS = ["levels.full_A", "limits.mount_warm_degC", "limits.mount_hot_degC"]


def _row(id: str, mend: str = "") -> Constraint:
    return Constraint(id, 2.0, 1.0, "at_most", "A", -1.0, "a meaning", "a case", mend)


def test_a_mend_that_names_a_slider_goes_before_the_table() -> None:
    build = load("smoke_tunnel")
    row = _row("use.before-cutback", "a higher limits.mount_hot_degC")
    assert slider_of(build, row, _PATHS, _PATHS[0]) == "limits.mount_hot_degC"
    assert slider_of(build, _row("use.before-cutback"), _PATHS, "") == "limits.mount_warm_degC"
    assert slider_of(build, _row("fault.junction"), _PATHS, "") == "levels.full_A"
    assert slider_of(build, _row("band.heat.x"), _PATHS, _PATHS[2]) == _PATHS[2]


def test_a_refusal_stands_at_the_other_slider_that_it_names() -> None:
    text = "limits.mount_warm_degC = 57: write less than limits.mount_hot_degC (56 degC)"
    assert slider_of_text(text, _PATHS, "limits.mount_warm_degC") == "limits.mount_hot_degC"
    assert slider_of_text("nothing named", _PATHS, _PATHS[1]) == _PATHS[1]


def test_words_carry_value_limit_case_and_mend() -> None:
    said = said_of(_row("fault.x", "less of it"))
    assert said == "FAILS a meaning (a case): 2 A, at most 1 A; mend: less of it"


@pytest.mark.parametrize("name", sorted(examples()))
def test_every_setting_of_every_build_stands_under_one_heading(name: str) -> None:
    titles = {title for title, _ in GROUPS}
    assert {group_of(key.path) for key in tune_keys(load(name))} <= titles
