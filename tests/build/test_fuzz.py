"""Shipped builds, broken at random: only the declared refusal comes, and all kinds of it.

Derandomised, so that a run repeats; what was reached is printed, and too little of it fails.
"""

import re
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from diodewright.build import Build, BuildErrors, examples, load, load_text
from diodewright.build.source import fetch
from diodewright.faults import ENGINE, MOMENTS
from diodewright.rehearse import UnknownCase, parse_case

SHIPPED = {name: fetch(name)[0] for name in examples()}
RUNS = 100
FUZZ = settings(
    deadline=None, derandomize=True, suppress_health_check=list(HealthCheck), max_examples=RUNS
)

#: Begin of what is wrong -> the kind of problem that it is.
KINDS = {
    "not TOML": "not TOML",
    "not UTF-8": "not UTF-8",
    "not text": "zero byte",
    "no such key": "unknown key",
    "no such section": "unknown section",
    "section missing": "section missing",
    "missing": "key missing",
    "unit missing": "unit missing",
    "wrong unit": "wrong unit",
    "must be": "wrong type",
    "out of range": "out of range",
    "is a section": "section as a key",
    "not a key of this section": "wrong section",
    "no such word": "unknown word",
    "no such part": "unknown part",
    "only with": "does not apply",
    "too long": "text too long",
    "point": "bad points",
    "has ": "bad points",
    "holds ": "bad text",
    "this version reads": "other format",
    "no name for a level": "level's name",
}

VALUES = st.one_of(
    st.floats().map(repr),
    st.integers(-(10**25), 10**25).map(str),
    st.integers(-10, 100).map(str),
    st.booleans().map(lambda x: str(x).lower()),
    st.sampled_from(["1e400", "-0.0", "9" * 400, "0x1F", "1979-05-27", "07:32:00", "", "{}", "[]"]),
    st.sampled_from(['""', '"1,5"', '"led"', '"cells"', '"bench_supply"', '"own"', "'x\\u0000'"]),
    st.text(st.characters(exclude_characters='"\\'), max_size=50).map(lambda x: f'"{x}"'),
    st.lists(st.lists(st.floats(-5, 50), min_size=1, max_size=3), max_size=5).map(str),
)
#: What people write instead: of any key, as the places are drawn.
NEAR = st.sampled_from(
    ['"1,5"', '"laser"', '"buck"', "9", "0", "-1", "true", "1.5"]
) | st.sampled_from(
    [
        "[[0.5, 4.1], [0.5, 4.2]]",
        '"a b"',
        f'"{"n" * 200}"',
        '"bench_supply"',
        "{a = 1}",
        "9" * 400,
        '"li_ion_18650"',
    ]
)
WORDS = sorted({word for text in SHIPPED.values() for word in re.findall(r"^\w+", text, re.M)})
KEYS = st.one_of(
    st.sampled_from(WORDS),
    st.sampled_from(WORDS).map(lambda word: word.rpartition("_")[0] or word),
    st.tuples(st.sampled_from(WORDS), st.sampled_from(["A", "mA", "V", "s", "K", "pct"])).map(
        lambda pair: f"{pair[0].rpartition('_')[0] or pair[0]}_{pair[1]}"
    ),
    st.text(st.characters(codec="utf-8"), max_size=8).map(repr),
    st.sampled_from(['"\\u001b[31m"', '"\\n"', "'a b'", '"\\U0001F600"', "''"]),
    st.sampled_from(["supply_V", "Boost_A", "part", "format", "pack", "threshold_T0_K"]),
)
#: A place as likely at the end of a file as at its beginning.
MOST = 997
PLACE = st.sampled_from(range(MOST))
#: What to do -> with what; each is tried by itself, then a few together.
EDITS: dict[str, st.SearchStrategy[Any]] = {
    "value": VALUES,
    "near": NEAR,
    "key": KEYS,
    "scale": st.floats(0.5, 2),
    "add": st.tuples(KEYS, VALUES).map(" = ".join),
    "header": st.sampled_from(["heet", "pack", "led", "", '"\\u001b"']),
    "delete": st.integers(1, 6),
    "double": st.just(0),
    "swap": PLACE,
    "bytes": st.binary(max_size=6),
}


def _one(what: str) -> st.SearchStrategy[tuple[str, int, Any]]:
    return st.tuples(st.just(what), PLACE, EDITS[what])


Lines = list[bytes]


def _key(line: bytes) -> bytes:
    return line.partition(b" = ")[0]


def _scaled(line: bytes, factor: float) -> bytes:
    number = re.search(rb"= (\d+\.?\d*)", line)
    return _key(line) + f" = {float(number[1]) * factor:.4g}".encode() if number else line


def _headed(lines: Lines, at: int, header: bytes) -> Lines:
    heads = [place for place, line in enumerate(lines) if line.startswith(b"[")]
    place = heads[at % len(heads)] if heads else at
    return [*lines[:place], b"[" + header + b"]", *lines[place + 1 :]]


def _swapped(lines: Lines, at: int, other: int) -> Lines:
    turned = list(lines)
    turned[at], turned[other % len(lines)] = lines[other % len(lines)], lines[at]
    return turned


#: Edits of a line with a key: lines, place and what to put -> the new line.
OF_KEYS: dict[str, Callable[[bytes, Any], bytes]] = {
    "value": lambda line, put: _key(line) + b" = " + put.encode("utf-8", "replace"),
    "near": lambda line, put: _key(line) + b" = " + put.encode(),
    "key": lambda line, put: put.encode("utf-8", "replace") + line[len(_key(line)) :],
    "scale": _scaled,
}
#: Edits of any line: lines, place and what to put -> the new lines.
OF_LINES: dict[str, Callable[[Lines, int, Any], Lines]] = {
    "add": lambda lines, at, put: [*lines[:at], put.encode("utf-8", "replace"), *lines[at:]],
    "header": lambda lines, at, put: _headed(lines, at, put.encode()),
    "delete": lambda lines, at, put: [*lines[:at], *lines[at + put :]],
    "double": lambda lines, at, _: [*lines[:at], lines[at], *lines[at:]],
    "swap": _swapped,
}


def _edited(data: bytes, edit: tuple[str, int, Any]) -> bytes:
    """Return the file with one edit; what finds nothing to change changes nothing."""
    what, where, put = edit
    if what == "bytes":
        cut = where * len(data) // MOST
        return data[:cut] + put + data[cut + len(put) // 2 :]
    lines = data.split(b"\n")
    if what in OF_LINES:
        return b"\n".join(OF_LINES[what](lines, where % len(lines), put)) or b"\n"
    keys = [place for place, line in enumerate(lines) if re.match(rb"\w+ = ", line)]
    if keys:
        at = keys[where % len(keys)]
        lines[at] = OF_KEYS[what](lines[at], put)
    return b"\n".join(lines)


def _kind(wrong: str, rule: str) -> str:
    if rule:
        return "contradiction"
    return next((kind for begin, kind in KINDS.items() if wrong.startswith(begin)), "other")


def test_a_shipped_build_with_any_edits_is_a_build_or_its_problems(tmp_path: Path) -> None:
    seen: Counter[str] = Counter()
    rules: set[str] = set()
    file = tmp_path / "mine.toml"

    def once(name: str, edits: list[tuple[str, int, Any]]) -> None:
        data = SHIPPED[name].encode()
        for edit in edits:
            data = _edited(data, edit)
        file.write_bytes(data)
        try:
            build = load(file)
        except BuildErrors as errors:
            for problem, line in zip(errors.problems, str(errors).split("\n"), strict=True):
                assert line.startswith(str(file))
                assert line.isprintable()
                seen[_kind(problem.wrong, problem.rule)] += 1
                rules.add(problem.rule)
            seen["(refused)"] += 1
        else:
            assert isinstance(build, Build)
            # what is accepted can be written down and read again without loss
            assert load_text(file.read_text("utf-8-sig"), "x").fingerprint == build.fingerprint
            seen["(accepted)"] += 1

    names = st.sampled_from(sorted(SHIPPED))
    for what in EDITS:
        FUZZ(given(names, st.lists(_one(what), min_size=1, max_size=1))(once))()
    several = st.lists(st.one_of(*map(_one, EDITS)), min_size=2, max_size=4)
    FUZZ(given(names, several)(once))()
    runs = seen["(accepted)"] + seen["(refused)"]
    kinds = {kind for kind in seen if not kind.startswith("(")}
    print(f"loader: derandomised, {runs} files, {seen['(accepted)'] / runs:.0%} accepted")
    print(f"kinds: {dict(seen.most_common())}; rules broken: {sorted(rules - {''})}")
    assert "other" not in kinds, "a problem of a kind that this test does not know"
    assert len(kinds) >= 15
    assert len(rules) >= 12
    assert 0.05 < seen["(accepted)"] / runs < 0.7


CASES = st.one_of(
    st.text(max_size=20),
    st.sampled_from([row.id for row in ENGINE]),
    st.tuples(
        st.sampled_from([row.id for row in ENGINE]) | st.text(max_size=8),
        st.sampled_from(["@", "", "@@", "@ ", " @"]) | st.text(max_size=2),
        st.sampled_from([*MOMENTS]) | st.text(max_size=8),
    ).map("".join),
    st.tuples(
        st.sampled_from([f"{row.id}@{at}" for row in ENGINE for at in MOMENTS]),
        st.integers(0, 20),
        st.text(max_size=2),
    ).map(lambda row: row[0][: row[1]] + row[2] + row[0][row[1] + 1 :]),
    st.sampled_from([f"{row.id}@{at}" for row in ENGINE for at in MOMENTS]),
    st.tuples(
        st.sampled_from([f"{row.id}@steady" for row in ENGINE]),
        st.sampled_from(["+", "~", "+3~"]),
        st.integers(-1, 70_000).map(str) | st.text(max_size=3),
    ).map("".join),
)


def test_any_text_is_a_case_of_the_catalogue_or_an_unknown_one() -> None:
    seen: Counter[str] = Counter()
    known = {f"{row.id}@{at}" for row in ENGINE for at in MOMENTS}

    @settings(FUZZ, max_examples=5 * RUNS)
    @given(CASES)
    def once(case_id: str) -> None:
        try:
            fault, at = parse_case(case_id)
        except UnknownCase as error:
            text = str(error)
            assert case_id not in known
            assert text.isprintable()
            assert len(text) < 600
            kinds = ("no such fault", "no such moment", "no moment", "a whole number")
            (kind,) = [k for k in kinds if k in text]
            seen[kind] += 1
        else:
            assert f"{fault.id}@{at}" == case_id
            assert case_id in known or at.later or at.off_ms
            seen["(accepted)"] += 1

    once()
    runs = sum(seen.values())
    print(f"cases: derandomised, {runs} texts, {seen['(accepted)'] / runs:.0%} accepted: {seen}")
    assert len(seen) == 5
    assert min(seen.values()) >= 3
