"""Whatever a build file says: a build, or its problems in lines; never a traceback."""

import tomllib
from importlib import resources

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from diodewright.build import Build, BuildErrors, Problem, load_text
from diodewright.build.resolve import resolve

EXAMPLE = resources.files("diodewright.examples").joinpath("smoke_tunnel.toml").read_text("utf-8")
LINES = EXAMPLE.splitlines()
PATHS = [
    (section, key)
    for section, content in tomllib.loads(EXAMPLE).items()
    if isinstance(content, dict)
    for key in content
]
LETTERS = st.sampled_from("\n\t []{}\"'=.#,_-+0123456789eEabAVmW\\\x00\x1b\u2028é")
QUICK = settings(
    deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow], max_examples=100
)


def _outcome(text: str) -> str:
    """Load and return "build" or "errors"; check that errors are complete lines."""
    problems: tuple[Problem, ...] = ()
    lines = ""
    try:
        build = load_text(text, "mine.toml")
    except BuildErrors as errors:
        problems, lines = errors.problems, str(errors)
    if not problems:
        assert isinstance(build, Build)
        assert len(build.fingerprint) == 64
        return "build"
    assert len(lines.split("\n")) == len(problems)
    for line in lines.split("\n"):
        assert line.startswith("mine.toml")
        assert line.isprintable()
    return "errors"


# fmt: off
NASTY = st.sampled_from([
    "nan", "-inf", "1e400", "9" * 400, "0", "-1", "-0.0", "2", "0.5", "1_000", "0x10", "true",
    "1979-05-27", "07:32:00", '""', '"1,5"', '"cells"', '"led"', '"\\u0000"', "'''\n'''", "{}",
    "{a = 1}", "[]", "[[]]", "[[1, 2]]", "[[1, 2], [2, 3]]", "[[nan, 1], [2, 3]]", "[1, [2], 'a']",
])
# fmt: on


@QUICK
@given(
    st.lists(
        st.tuples(
            st.integers(0, len(EXAMPLE) - 1),
            st.integers(0, 12),
            st.text(LETTERS, max_size=6),
        ),
        min_size=1,
        max_size=4,
    )
)
def test_characters_lost_or_added_anywhere(cuts: list[tuple[int, int, str]]) -> None:
    text = EXAMPLE
    for at, length, put in cuts:
        text = text[:at] + put + text[at + length :]
    _outcome(text)


@QUICK
@given(st.lists(st.tuples(st.sampled_from(PATHS), NASTY), min_size=1, max_size=3))
def test_any_value_under_any_key(changes: list[tuple[tuple[str, str], str]]) -> None:
    lines = list(LINES)
    for (section, key), value in changes:
        start = lines.index(f"[{section}]")
        at = next(i for i in range(start, len(lines)) if lines[i].startswith(f"{key} ="))
        lines[at] = f"{key} = {value}"
    _outcome("\n".join(lines))


@QUICK
@given(
    st.lists(st.integers(0, len(LINES) - 1), max_size=4),
    st.lists(st.integers(0, len(LINES) - 1), max_size=2),
    st.lists(
        st.tuples(st.integers(0, len(LINES)), st.text(LETTERS, max_size=12), NASTY), max_size=2
    ),
)
def test_lines_lost_doubled_or_strange(
    lost: list[int], doubled: list[int], strange: list[tuple[int, str, str]]
) -> None:
    lines = [line for number, line in enumerate(LINES) if number not in lost]
    for number in doubled:
        lines.insert(number, LINES[number])
    for number, key, value in strange:
        lines.insert(number, f'"{key}" = {value}')
    _outcome("\n".join(lines))


@QUICK
@given(
    st.recursive(
        st.none() | st.booleans() | st.integers() | st.floats() | st.text(LETTERS, max_size=5),
        lambda inner: (
            st.lists(inner, max_size=3) | st.dictionaries(st.text(LETTERS, max_size=8), inner)
        ),
        max_leaves=8,
    ),
    st.sampled_from(["", *{section for section, _ in PATHS}]),
    st.sampled_from([key for _, key in PATHS]) | st.text(LETTERS, max_size=12),
)
def test_any_parsed_document(value: object, section: str, key: str) -> None:
    document = tomllib.loads(EXAMPLE)
    if value is None:
        document.pop(section, None)
    else:
        (document[section] if section else document)[key] = value
    for problem in resolve(document, "mine.toml", {}).problems:
        assert "\n" not in str(problem)


def test_both_outcomes_are_reached() -> None:
    assert _outcome(EXAMPLE) == "build"
    assert _outcome(EXAMPLE + "\nx = 1") == "errors"
