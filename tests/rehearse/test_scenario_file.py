"""A builder's own scenario is read whole, or refused with everything that is wrong with it."""

import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from diodewright.build import BuildErrors, load
from diodewright.build.source import examples, fetch
from diodewright.rehearse import read_scenario
from diodewright.rehearse.scenario_file import ENDING

GOOD = """format = 1
name = "two bursts with a pause"
ambient_degC = 10

[[step]]
at_s = 0
do = "press"

[[step]]
at_s = 60
do = "level"
level = "survey_A"

[[step]]
at_s = 90
do = "fault"
fault = "air-blocked"

[[step]]
at_s = 700
do = "end"
"""
LAMP = load("cave_lamp")


@pytest.fixture
def refusals(tmp_path):
    """Return a function that gives the problems of a text, for a build."""

    def read(text: str, build=LAMP):
        path = tmp_path / "own.toml"
        path.write_text(text, encoding="utf-8")
        with pytest.raises(BuildErrors) as refused:
            read_scenario(path, build)
        return refused.value.problems

    return read


def test_a_good_scenario_is_read_with_what_the_build_says_where_it_says_nothing(tmp_path) -> None:
    path = tmp_path / "own.toml"
    path.write_text(GOOD, encoding="utf-8")
    read = read_scenario(path, LAMP)
    assert [(step.at_s, step.do) for step in read.steps] == [
        (0, "press"),
        (60, "level"),
        (90, "fault"),
        (700, "end"),
    ]
    assert (read.name, read.ambient_degC, read.rest_s) == ("two bursts with a pause", 10, 1800)
    assert read.start_charge_pct == LAMP.pack.start_charge_pct
    assert [fault.id for fault in read.faults] == ["air-blocked"]


# (what the good text has, what stands there instead, line, key, words of the refusal)
WRONG = [
    ("format = 1", "format = 2", 1, "format", "allowed 1"),
    ("ambient_degC = 10", "ambient_degC = 45", 3, "ambient_degC", "allowed -10 to 30 degC"),
    ("ambient_degC = 10", "ambient = 10", 3, "ambient", "write ambient_degC = 10"),
    ("ambient_degC = 10", "rest_min = 10", 3, "rest_min", "rest_s"),
    ("ambient_degC = 10", "current = 10", 3, "current", "keys: format, name"),
    ("ambient_degC = 10", "rest_s = 90000", 3, "rest_s", "allowed 0 to 86400 s"),
    ("at_s = 60", "at_ms = 60000", 10, "step: at_ms", "write at_s = 60"),
    ("at_s = 60", 'at_s = "60 s"', 10, "step 2: at_s", "write at_s = 60, without quotes"),
    ("at_s = 700", "at_s = 86401", 20, "step 4: at_s", "allowed 0 to 86400 s"),
    ("at_s = 60", "at_s = 95", 15, "step 3: at_s", "before step 2, at 95 s"),
    ('do = "level"', 'do = "levle"', 11, "step 2: do", 'did you mean "level"?'),
    ('"survey_A"', '"survy_A"', 12, "step 2: level", "did you mean survey_A? burst_A, survey_A"),
    ('"air-blocked"', '"air-blokked"', 17, "step 3: fault", "did you mean air-blocked?"),
    ('"air-blocked"', '"diode-aged"', 17, "step 3: fault", "has no laser to fail in this way"),
    ('level = "survey_A"', "", 9, "step 2: level", "missing: which level"),
    ('do = "end"', 'do = "end"\nlevel = "survey_A"', 22, "step 4: level", 'only with do = "level"'),
    ('do = "end"', 'do = "release"', None, "[[step]]", "no end: it would run for ever"),
    ('do = "press"', 'do = "key_off"', 7, "step 1: do", "cave_lamp has no key"),
    ('do = "press"', 'do = "release"', 7, "step 1: do", "trigger released already"),
    ("at_s = 0", "at_s = -1", 6, "step 1: at_s", "allowed 0 to 86400 s"),
]


@pytest.mark.parametrize(("old", "new", "line", "key", "said"), WRONG)
def test_a_mistake_is_told_with_line_key_and_mend(refusals, old, new, line, key, said) -> None:
    problems = refusals(GOOD.replace(old, new, 1))
    found = [each for each in problems if (each.key, each.line) == (key, line)]
    assert any(said in str(each) for each in found), [str(each) for each in problems]


def test_all_mistakes_are_told_at_once_in_the_order_of_the_file(refusals) -> None:
    text = GOOD.replace("= 10", "= 99").replace("survey_A", "x").replace("air-b", "b")
    assert [each.line for each in refusals(text)] == [3, 12, 17]


def test_a_scenario_without_a_press_or_after_its_end_is_refused(refusals) -> None:
    without = GOOD.replace('do = "press"', 'do = "level"\nlevel = "burst_A"')
    assert "no press: nothing would light" in str(refusals(without)[0])
    late = GOOD + '[[step]]\nat_s = 701\ndo = "release"\n'
    assert "the end is the last step" in str(refusals(late)[0])
    short = GOOD.replace("at_s = 0", "at_s = 699.5").replace("= 60", "= 699.5")
    assert "less than 1 s" in str(refusals(short.replace("= 90", "= 699.5"))[0])


def test_a_scenario_that_its_build_cannot_do_is_refused(refusals) -> None:
    module = load("gel_viewer")
    problems = refusals(GOOD.replace("= 10", "= 20"), module)
    assert [each.key for each in problems] == ["step 2: level"]
    assert "module_A" in problems[0].mend
    bench = refusals(
        GOOD.replace("ambient_degC = 10", "start_charge_pct = 50").replace("survey_A", "full_A"),
        load("smoke_tunnel_bench"),
    )
    assert [each.key for each in bench] == ["start_charge_pct"]


def test_a_shipped_scenario_is_found_by_name_and_is_no_build() -> None:
    shipped = examples(ENDING)
    assert "cave_lamp_survey" in shipped
    assert not set(shipped) & set(examples())
    assert all("." not in name for name in (*shipped, *examples()))
    assert read_scenario("cave_lamp_survey", LAMP).end_s == 3600
    with pytest.raises(BuildErrors, match="did you mean cave_lamp_survey"):
        read_scenario("cave_lamp_surey", LAMP)
    with pytest.raises(BuildErrors, match=r"nowhere\.toml: no such file$"):
        read_scenario("./nowhere.toml", LAMP)


def test_every_shipped_scenario_names_the_build_it_is_for_and_fits_it() -> None:
    for name in examples(ENDING):
        text, _ = fetch(name, ENDING)
        (build,) = re.findall(r"rehearse (\w+) --only use --scenario " + name, text)
        assert read_scenario(name, load(build)).steps


_VALUES = st.one_of(
    st.integers(-5, 2000),
    st.floats(allow_nan=True),
    st.booleans(),
    st.sampled_from(["press", "level", "fault", "end", "survey_A", "air-blocked", "", "é\n"]),
    st.lists(st.integers(), max_size=2),
)


def _toml(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return '"' + value.replace("\n", "\\n") + '"'
    return str(value)


@settings(
    deadline=None,
    derandomize=True,
    max_examples=150,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    place=st.integers(0, GOOD.count("\n") - 1),
    key=st.sampled_from(["at_s", "do", "level", "fault", "format", "name", "step", "rest_s", "x"]),
    value=_VALUES,
    cut=st.booleans(),
)
def test_any_edit_is_read_or_refused_never_a_traceback(tmp_path, place, key, value, cut) -> None:
    lines = GOOD.splitlines()
    lines[place : place + cut] = [f"{key} = {_toml(value)}"]
    path = tmp_path / "own.toml"
    path.write_text("\n".join(lines), encoding="utf-8")
    told, last = "", "end"
    try:
        last = read_scenario(path, LAMP).steps[-1].do
    except BuildErrors as refused:
        told = str(refused)
        count = len(refused.problems)
        told = "a problem is more than one line" if len(told.splitlines()) != count else ""
    assert (told, last) == ("", "end")
