"""A builder's own parts: used like shipped ones, checked by the same table, told all at once."""

import os
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diodewright.build import BuildErrors, load, parts, read_parts
from diodewright.build.parts_file import own_shelf

GOOD = """\
format = 1

[[part]]
name = "drawer_cell"
key = "pack.part"
meaning = "18650 from my drawer"
source = "measured at 1 A, 20 degC"
chemistry = "lithium_ion"
capacity_Ah = 2.9
cell_resistance_mohm = 48

[[part]]
name = "odd_green"
key = "diode.part"
meaning = "green diode without a label"
source = "my bench, pulsed"
kind = "laser_diode"
wavelength_nm = 523
forward_points_A_V = [[0.25, 3.988], [0.5, 4.125], [1.0, 4.400], [1.5, 4.675]]
case = "anode"
"""

Edit = Callable[..., str]


@pytest.fixture
def folder(tmp_path: Path, edit: Edit) -> Callable[[str], Path]:
    """Return a function: text of a parts file -> a build file beside it that names a part."""

    def made(text: str) -> Path:
        (tmp_path / "mine_parts.toml").write_text(text, encoding="utf-8")
        edits = {
            "parts_file": '"mine_parts.toml"',
            "pack.part": '"drawer_cell"',
            "pack.capacity_Ah": None,
            "pack.cell_resistance_mohm": None,
        }
        file = tmp_path / "mine.toml"
        file.write_text(edit(edits), encoding="utf-8")
        return file

    return made


def _told(run: Callable[[], object]) -> list[str]:
    with pytest.raises(BuildErrors) as caught:
        run()
    folder = os.path.commonpath([problem.file for problem in caught.value.problems])
    folder = folder if Path(folder).is_dir() else str(Path(folder).parent)
    return [str(problem).replace(folder + os.sep, "") for problem in caught.value.problems]


def test_an_own_part_fills_in_what_the_build_leaves_out_with_its_source(
    folder: Callable[[str], Path],
) -> None:
    build = load(folder(GOOD))
    assert build.pack.capacity_Ah == 2.9
    assert build.pack.cell_resistance_mohm == 48
    assumed = {each.key: each for each in build.assumed}
    assert assumed["pack.capacity_Ah"].source == "drawer_cell: measured at 1 A, 20 degC"
    # what it leaves out is the chemistry's
    assert build.pack.cell_full_V == 4.2


def test_an_own_diode_fills_in_choices_and_points(tmp_path: Path, edit: Edit) -> None:
    (tmp_path / "p.toml").write_text(GOOD, encoding="utf-8")
    keys = ("kind", "wavelength_nm", "forward_points_A_V", "case")
    gone = {f"diode.{key}": None for key in keys}
    file = tmp_path / "b.toml"
    file.write_text(
        edit({**gone, "parts_file": '"p.toml"', "diode.part": '"odd_green"'}), encoding="utf-8"
    )
    diode = load(file).diode
    assert (diode.kind, diode.wavelength_nm, diode.case) == ("laser_diode", 523, "anode")
    assert diode.forward_points_A_V[-1] == (1.5, 4.675)


def test_the_fingerprint_covers_the_values_and_not_the_place(
    folder: Callable[[str], Path], tmp_path: Path
) -> None:
    file = folder(GOOD)
    first = load(file).fingerprint
    (tmp_path / "mine_parts.toml").rename(tmp_path / "elsewhere.toml")
    text = file.read_text(encoding="utf-8").replace("mine_parts.toml", "elsewhere.toml")
    file.write_text(text, encoding="utf-8")
    assert load(file).fingerprint == first
    changed = GOOD.replace("capacity_Ah = 2.9", "capacity_Ah = 2.8")
    (tmp_path / "elsewhere.toml").write_text(changed, encoding="utf-8")
    assert load(file).fingerprint != first


def test_a_parts_file_is_looked_for_beside_the_build_file(
    folder: Callable[[str], Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = folder(GOOD)
    (tmp_path / "deeper").mkdir()
    monkeypatch.chdir(tmp_path / "deeper")
    assert load(Path("..") / file.name).pack.capacity_Ah == 2.9


# (line of GOOD, what stands there instead, what is told with its line)
MISTAKES = (
    (
        "capacity_Ah = 2.9",
        "capacity_mAh = 2900",
        "9: part drawer_cell: capacity_mAh = 2900: wrong unit; write capacity_Ah = 2.9",
    ),
    (
        "capacity_Ah = 2.9",
        "capacity_Ah = 2900",
        "9: part drawer_cell: capacity_Ah = 2900: out of range; allowed 0.05 to 100 Ah",
    ),
    (
        "capacity_Ah = 2.9",
        'capacity_Ah = "2,9"',
        '9: part drawer_cell: capacity_Ah = "2,9": must be a number, not text; '
        "allowed 0.05 to 100 Ah; write capacity_Ah = 2.9, without quotes",
    ),
    (
        'chemistry = "lithium_ion"',
        'chemistry = "lithium"',
        '8: part drawer_cell: chemistry = "lithium": no such word here; allowed '
        '"lithium_ion", "nimh", "alkaline"; did you mean "lithium_ion"?',
    ),
    (
        "capacity_Ah = 2.9",
        "series = 2",
        "9: part drawer_cell: series = 2: is not the part's but the build's; leave it out",
    ),
    (
        'source = "measured at 1 A, 20 degC"',
        "",
        "3: part drawer_cell: source: missing: where its values are from",
    ),
    (
        'source = "measured at 1 A, 20 degC"',
        'source = ""',
        '7: part drawer_cell: source = "": is empty: where its values are from',
    ),
    (
        'source = "measured at 1 A, 20 degC"',
        'sorce = "measured at 1 A, 20 degC"',
        '7: part drawer_cell: sorce = "measured at 1 A, 20 degC": no such key; '
        "did you mean source?",
    ),
    (
        'key = "pack.part"',
        'key = "pack.parts"',
        '5: part drawer_cell: key = "pack.parts": no such word here; allowed "pack.part", '
        '"cutoffs.a_part", "diode.part", "sensors.ntc_part"; did you mean "pack.part"?',
    ),
    (
        'name = "drawer_cell"',
        'name = "alkaline_aa"',
        '4: part alkaline_aa: name = "alkaline_aa": a shipped part has this name; choose another',
    ),
    (
        'name = "drawer_cell"',
        'name = "odd_green"',
        '13: part odd_green: name = "odd_green": another part of this file has this name',
    ),
    (
        'name = "drawer_cell"',
        'name = "drawer cell"',
        '4: part drawer cell: name = "drawer cell": holds other characters than letters, '
        "digits, _ and -",
    ),
    ("format = 1", "format = 2", "1: format = 2: this version reads format 1 only"),
    ("format = 1", "drawer = 7", "1: drawer = 7: no such key; a file of parts holds format = 1"),
)


@pytest.mark.parametrize(("line", "instead", "told"), MISTAKES, ids=lambda text: text[:40])
def test_a_mistake_in_a_part_is_told_with_file_line_and_mend(
    tmp_path: Path, line: str, instead: str, told: str
) -> None:
    file = tmp_path / "mine_parts.toml"
    assert line in GOOD
    file.write_text(GOOD.replace(line, instead, 1), encoding="utf-8")
    lines = _told(lambda: read_parts(str(file)))
    assert any(each.startswith(f"mine_parts.toml:{told}") for each in lines), lines


def test_a_value_of_another_kind_than_the_parts_own_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "p.toml"
    text = GOOD.replace('kind = "laser_diode"', 'kind = "led"')
    file.write_text(text + "threshold_T0_K = 170\n", encoding="utf-8")
    (told,) = _told(lambda: read_parts(str(file)))
    assert told == (
        "p.toml:21: part odd_green: threshold_T0_K = 170: only with "
        'kind = "laser_diode", not "led"; leave it out'
    )


def test_a_part_that_fills_in_nothing_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "p.toml"
    four = GOOD.splitlines()[2:7]
    file.write_text("\n".join(four), encoding="utf-8")
    (told,) = _told(lambda: read_parts(str(file)))
    assert told.startswith("p.toml:1: part drawer_cell: it fills in nothing; it may fill in chem")


def test_mistakes_of_build_and_parts_come_all_at_once_each_with_its_file(
    folder: Callable[[str], Path],
) -> None:
    text = GOOD.replace("capacity_Ah = 2.9", "capacity_mAh = 2900").replace("523", "1064")
    file = folder(text)
    build = file.read_text(encoding="utf-8").replace("delay_s = 5", "delay_ms = 5000")
    file.write_text(build, encoding="utf-8")
    lines = _told(lambda: load(file))
    assert [line.partition(": ")[0].partition(":")[0] for line in lines] == [
        "mine.toml",
        "mine_parts.toml",
        "mine_parts.toml",
    ]
    assert "write delay_s = 5" in lines[0]
    assert "write capacity_Ah = 2.9" in lines[1]
    assert "1064: out of range; allowed 400 to 1050 nm" in lines[2]


@pytest.mark.parametrize(
    ("named", "text", "told"),
    [
        ("nowhere.toml", GOOD, 'parts_file = "nowhere.toml": no such file; looked for as'),
        ("mine_parts.toml", "[[part", "mine_parts.toml:1: not TOML"),
        ("mine_parts.toml", "part = 3", "mine_parts.toml:1: part = 3: must be [[part]] tables"),
        ("mine_parts.toml", "[part]\nname = 1", "must be [[part]] tables, in doubled brackets"),
    ],
)
def test_a_parts_file_that_cant_be_read_is_one_problem(
    folder: Callable[[str], Path], named: str, text: str, told: str
) -> None:
    file = folder(text)
    build = file.read_text(encoding="utf-8").replace("mine_parts.toml", named)
    file.write_text(build, encoding="utf-8")
    (line,) = _told(lambda: load(file))
    assert told in line


def test_an_unknown_name_is_looked_for_among_own_parts_too(folder: Callable[[str], Path]) -> None:
    file = folder(GOOD)
    build = file.read_text(encoding="utf-8").replace('"drawer_cell"', '"drawer_cel"')
    file.write_text(build, encoding="utf-8")
    (line,) = _told(lambda: load(file))
    assert "no such part; did you mean drawer_cell? parts: li_ion_18650_2600" in line
    build = build.replace('"drawer_cel"', '"odd_green"')
    file.write_text(build, encoding="utf-8")
    (line,) = _told(lambda: load(file))
    assert "no such part; it is a part of diode.part; parts: " in line


def test_a_line_end_or_byte_order_mark_of_windows_changes_nothing(tmp_path: Path) -> None:
    file = tmp_path / "p.toml"
    file.write_bytes(b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode())
    assert [part.name for part in read_parts(str(file))] == ["drawer_cell", "odd_green"]


LETTERS = st.sampled_from("\n\t []{}\"'=.#,_-+0123456789eEabAVmW\\\x00\x1b\u2028é")


@settings(deadline=None, derandomize=True, max_examples=150)
@given(
    st.lists(
        st.tuples(st.integers(0, len(GOOD) - 1), st.integers(0, 12), st.text(LETTERS, max_size=6)),
        min_size=1,
        max_size=4,
    )
)
def test_whatever_a_parts_file_says_it_is_parts_or_lines(
    tmp_path_factory: pytest.TempPathFactory, cuts: list[tuple[int, int, str]]
) -> None:
    text = GOOD
    for at, length, put in cuts:
        text = text[:at] + put + text[at + length :]
    file = tmp_path_factory.getbasetemp() / "random_parts.toml"
    file.write_bytes(text.encode())
    shelf = own_shelf(str(file), "mine.toml", 1)
    assert shelf.parts or shelf.problems or "[[part]]" not in text
    for problem in shelf.problems:
        assert problem.wrong
        assert str(problem).isprintable()
    shipped = {part.name for part in parts()}
    for part in shelf.parts:
        assert part.name not in shipped
