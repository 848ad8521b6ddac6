"""What people get wrong, and the one line that tells them: file, key, value, range, mend."""

import re
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from diodewright.build import BuildErrors, Problem, load, load_text
from diodewright.build.source import fetch

Edits = Mapping[str, str | None]
Problems = Callable[..., tuple[Problem, ...]]

# (edits of the example, the line that must be among the errors)
LINES: tuple[tuple[Edits, str], ...] = (
    (
        {"diode.set_curent_A": "1.5"},
        "diode.set_curent_A = 1.5: no such key; did you mean levels.full_A?",
    ),
    (
        {"pack.capacity_mAh": "2600"},
        "pack.capacity_mAh = 2600: wrong unit; write capacity_Ah = 2.6",
    ),
    ({"limits.trip": "60"}, "limits.trip = 60: unit missing; write mount_trip_degC = 60"),
    ({"limits.delay": "5"}, "limits.delay = 5: unit missing; write delay_s = 5"),
    (
        {"comparator.trip_min": "1.7"},
        "comparator.trip_min = 1.7: unit missing; write trip_min_A = 1.7",
    ),
    (
        {"limits.soft_start_s": "0.5"},
        "limits.soft_start_s = 0.5: wrong unit; write soft_start_ms = 500",
    ),
    (
        {"limits.mount_trip_K": "333"},
        "limits.mount_trip_K = 333: wrong unit; write mount_trip_degC, in degC",
    ),
    (
        {"sensors.ntc_tolerance_K": "1"},
        "sensors.ntc_tolerance_K = 1: wrong unit; write ntc_tolerance_degC, in degC",
    ),
    (
        {"stage.inductor_H": "47e-6"},
        "stage.inductor_H = 4.7e-05: wrong unit; write inductor_uH = 47",
    ),
    ({"levels.low_mA": "500"}, "levels.low_mA = 500: wrong unit; write low_A = 0.5"),
    ({"levels.low": "0.5"}, "levels.low = 0.5: unit missing; write low_A = 0.5"),
    (
        {"limits.beam_mm": "2"},
        "limits.beam_mm = 2: not a key of this section; it belongs in [enclosure]",
    ),
    ({"pack.Capacity_ah": "2"}, "pack.Capacity_ah = 2: no such key; write capacity_Ah = 2"),
    ({"heat.sink_K_W": "5"}, "heat.sink_K_W = 5: no such key; did you mean sink_air_K_W?"),
    (
        {"diode.vf": "4.4"},
        "diode.vf = 4.4: no such key; did you mean diode.forward_points_A_V?",
    ),
    ({"switch.zzz": "1"}, "switch.zzz = 1: no such key; keys of [switch]: rated_A"),
    (
        {"diode.rated_A": "16"},
        "diode.rated_A = 16: rated above the absolute maximum; write at most diode.absolute_A "
        "(2 A)",
    ),
    ({"diode.rated_A": "160"}, "diode.rated_A = 160: out of range; allowed 0.001 to 20 A"),
    (
        {"diode.wavelength_nm": "1064"},
        "diode.wavelength_nm = 1064: out of range; allowed 400 to 1050 nm",
    ),
    (
        {"diode.rated_A": '"1,6"'},
        'diode.rated_A = "1,6": must be a number, not text; allowed 0.001 to 20 A; write '
        "rated_A = 1.6, without quotes",
    ),
    (
        {"diode.rated_A": '"1.6 A"'},
        'diode.rated_A = "1.6 A": must be a number, not text; allowed 0.001 to 20 A; write '
        "rated_A = 1.6, without quotes",
    ),
    (
        {"diode.rated_A": "true"},
        "diode.rated_A = true: must be a number, not true or false; allowed 0.001 to 20 A",
    ),
    (
        {"diode.rated_A": "nan"},
        "diode.rated_A = nan: must be a finite number; allowed 0.001 to 20 A",
    ),
    (
        {"diode.rated_A": "-inf"},
        "diode.rated_A = -inf: must be a finite number; allowed 0.001 to 20 A",
    ),
    (
        {"diode.rated_A": "[1.6]"},
        "diode.rated_A = [1.6]: must be a number, not a list; allowed 0.001 to 20 A",
    ),
    (
        {"pack.series": "2.0"},
        "pack.series = 2.0: must be a whole number, not a fraction; allowed 1 to 6, a whole "
        "number; write series = 2",
    ),
    ({"pack.series": "7"}, "pack.series = 7: out of range; allowed 1 to 6, a whole number"),
    (
        {"controls.key": '"true"'},
        'controls.key = "true": must be true or false, not text; write key = true',
    ),
    (
        {"diode.kind": '"laser"'},
        'diode.kind = "laser": no such word here; allowed "laser_diode", "led", '
        '"dummy_string"; did you mean "laser_diode"?',
    ),
    (
        {"stage.module_A": "1.5"},
        'stage.module_A = 1.5: only with stage.kind = "gated", not "buck"; leave it out',
    ),
    (
        {"cutoffs.a_place": '"pack_side"'},
        "cutoffs.a_place = \"pack_side\": on the pack's side it leaves the stage's input "
        'capacitor to feed the diode; allowed "diode_return"',
    ),
    (
        {"sensors.sink_ntc": "false"},
        "sensors.sink_ntc = false: a build without it is not supported yet; allowed true or false",
    ),
    (
        {"cutoffs.a_part": '"mosfet_n_logic_22mohm"'},
        'cutoffs.a_part = "mosfet_n_logic_22mohm": no such part; did you mean '
        "mosfet_n_logic_20mohm?"
        " parts: mosfet_n_logic_20mohm, mosfet_n_logic_30mohm, mosfet_n_logic_60mohm, "
        "mosfet_n_4V5_10mohm",
    ),
    (
        {"cutoffs.a_part": None},
        "cutoffs.a_rds_mohm: missing: on-resistance at 25 degC and the guaranteed gate voltage;"
        " allowed 0.1 to 1000 mohm; write it, or name a part in a_part",
    ),
    (
        {"switch.rated_A": None},
        "switch.rated_A: missing: rated current of the trigger's contact; allowed 0.001 to 100 A",
    ),
    (
        {"pack.supply_V": "8"},
        'pack.supply_V = 8: only with pack.kind = "bench_supply", not "cells"; leave it out',
    ),
    (
        {"diode.forward_points_A_V": "[[0.5, 4.1], [0.5, 4.2]]"},
        "diode.forward_points_A_V = [[0.5, 4.1], [0.5, 4.2]]: point 2: 0.5 does not rise above "
        "0.5; order the points by current, each once",
    ),
    (
        {"diode.forward_points_A_V": "[[0.5, 4.1], [1.5, 4.0]]"},
        "diode.forward_points_A_V = [[0.5, 4.1], [1.5, 4.0]]: point 2: 4 does not rise above "
        "4.1; look at the data sheet's curve again",
    ),
    (
        {"diode.forward_points_A_V": "[[0.5, 4.1], [1500, 5.0]]"},
        "diode.forward_points_A_V = [[0.5, 4.1], [1500, 5.0]]: point 2: 1500 A is out of "
        "range; allowed rows [A, V] of 0.0001 to 20 A and 0.1 to 20 V, rising",
    ),
    (
        {"diode.forward_points_A_V": "[[0.5, 4.1]]"},
        "diode.forward_points_A_V = [[0.5, 4.1]]: has 1 points; allowed 2 to 100",
    ),
    (
        {"diode.forward_points_A_V": "[[0.5, 4.1], [1.5]]"},
        "diode.forward_points_A_V = [[0.5, 4.1], [1.5]]: point 2 is not a pair of numbers; "
        "allowed rows [A, V] of 0.0001 to 20 A and 0.1 to 20 V, rising",
    ),
    ({"levels.a_A": "1", "levels.b_A": "1"}, "[levels]: 5 levels; allowed 1 to 4"),
    (
        {"levels.Boost_A": "1"},
        "levels.Boost_A = 1: no name for a level; small letters, digits and _, at most 16, then _A",
    ),
    ({"levels.full_A": "20"}, "levels.full_A = 20: out of range; allowed 0.001 to 10 A"),
    ({"name": '"a/b"'}, 'name = "a/b": holds other characters than letters, digits, _ and -'),
    ({"purpose": '"a\\u0007"'}, 'purpose = "a\\u0007": holds characters that can\'t be printed'),
    ({"name": "3"}, "name = 3: must be text in quotes, not a whole number"),
    ({"name": f'"{"n" * 41}"'}, f'name = "{"n" * 41}": too long; allowed 40 characters'),
    (
        {"diode.case": "1.5"},
        "diode.case = 1.5: must be a word in quotes, not a fraction; "
        'allowed "isolated", "anode", "cathode"',
    ),
    (
        {"pack.part": "18650"},
        "pack.part = 18650: must be a part's name in quotes, not a whole number",
    ),
    (
        {"pack.capacity_mAh": "9" * 400},
        "pack.capacity_mAh = a whole number of many digits: wrong unit; write capacity_Ah, in Ah",
    ),
    ({"format": "2"}, "format = 2: this version reads format 1 only; write format = 1"),
    ({"format": "true"}, "format = true: must be a whole number, not true or false; allowed 1"),
    ({"format": None}, "format: missing: version of the build file's format; allowed 1"),
)


@pytest.mark.parametrize(("edits", "line"), LINES, ids=[line[:40] for _, line in LINES])
def test_a_mistake_is_told_in_one_line(problems: Problems, edits: Edits, line: str) -> None:
    found = [re.sub(r"^mine\.toml(:\d+)?: ", "", str(problem)) for problem in problems(edits)]
    assert line in found


def test_a_wrong_unit_or_name_is_not_called_missing_as_well(problems: Problems) -> None:
    found = problems({"comparator.delay_us": None, "comparator.delay_ms": "0.001"})
    assert [problem.key for problem in found] == ["comparator.delay_ms"]


def test_all_mistakes_are_told_at_once_in_the_order_of_the_file(problems: Problems) -> None:
    found = problems(
        {
            "pack.series": "9",
            "diode.rated_A": '"x"',
            "limits.trip": "60",
            "limits.mount_warm_degC": "58",
            "controls.interlock": "false",
        }
    )
    assert {problem.key for problem in found} == {
        "pack.series",
        "diode.rated_A",
        "limits.trip",
        "limits.mount_warm_degC",
        "controls.interlock",
    }
    lines = [problem.line for problem in found if problem.line]
    assert len(lines) == len(found)
    assert lines == sorted(lines)


def test_each_problem_names_the_line_of_its_key(edit: Callable[..., str]) -> None:
    text = edit({"heat.sink_air_K_W": "-5", "limits.trip": "60"})
    with pytest.raises(BuildErrors) as caught:
        load_text(text, "mine.toml")
    lines = text.splitlines()
    for problem in caught.value.problems:
        assert problem.line is not None
        assert lines[problem.line - 1].startswith(problem.key.split(".")[1])
    assert len(caught.value.problems) == 2


def test_a_missing_key_points_at_its_sections_header(edit: Callable[..., str]) -> None:
    text = edit({"switch.rated_A": None})
    with pytest.raises(BuildErrors) as caught:
        load_text(text, "mine.toml")
    (problem,) = caught.value.problems
    assert problem.line is not None
    assert text.splitlines()[problem.line - 1] == "[switch]"


def test_dotted_and_quoted_keys_have_lines_too(example: str) -> None:
    text = example.replace("[switch]\nrated_A = 0.1 ", "").replace(
        "[pack]", 'switch.rated_A = 1e9\n[ "pack" ]\n'
    )
    text = text.replace("series = 2\n", '  "series"  = 9\n')
    with pytest.raises(BuildErrors) as caught:
        load_text(text, "mine.toml")
    lines = text.splitlines()
    for problem in caught.value.problems:
        assert problem.line is not None
        assert problem.key.split(".")[1] in lines[problem.line - 1]
    assert [problem.key for problem in caught.value.problems] == ["switch.rated_A", "pack.series"]


def test_a_missing_section_is_one_problem(example: str) -> None:
    text = re.sub(r"\[comparator\].*?\n\n", "", example, flags=re.DOTALL)
    with pytest.raises(BuildErrors) as caught:
        load_text(text, "mine.toml")
    assert str(caught.value) == (
        "mine.toml: [comparator]: section missing; "
        "it needs trip_min_A, trip_max_A, delay_us, over_voltage_V"
    )


@pytest.mark.parametrize(
    ("header", "near"), [("heet", "heat"), ("battery", "pack"), ("laser", "diode")]
)
def test_an_unknown_section_gets_the_nearest_name(example: str, header: str, near: str) -> None:
    with pytest.raises(
        BuildErrors, match=rf"\[{header}\]: no such section; did you mean \[{near}\]"
    ):
        load_text(example + f"\n[{header}]\nx = 1\n", "mine.toml")


def test_a_section_written_as_a_key_is_told(example: str) -> None:
    text = "switch = 3\n" + example.replace("[switch]\nrated_A = 0.1", "")
    with pytest.raises(BuildErrors, match=r"switch = 3: is a section, not a key; write \[switch\]"):
        load_text(text, "mine.toml")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("format = 1\nname = 5x\n", r"^mine\.toml:2: not TOML: column 9: "),
        ("format = 1\nname = 'x\n", r"^mine\.toml:2: not TOML: expected"),
        ("a = 1\na = 2\n", r"^mine\.toml:2: not TOML: column 6: "),
        ("a = [1,", r"^mine\.toml:1: not TOML: "),
        ("a = " + "[" * 5000, r"^mine\.toml(:1)?: not TOML: "),
        ("a = " + "9" * 5000, r"^mine\.toml: (not TOML: |a = a whole number of many digits)"),
        ("a = 1979-13-45\n", r"^mine\.toml(:1)?: not TOML: "),
    ],
)
def test_text_that_is_not_toml_is_told_with_line_and_column(text: str, said: str) -> None:
    with pytest.raises(BuildErrors, match=said):
        load_text(text, "mine.toml")


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"format = 1\nname = '\xff'\n", ":2: not UTF-8 text; save it as UTF-8"),
        ("format = 1".encode("utf-16"), ":1: not UTF-8 text"),
        (b"#" * 1_000_001, "larger than 1000000 bytes"),
        (b"", r"\[pack\]: section missing"),
    ],
)
def test_a_file_that_is_no_build_file_is_refused(tmp_path: Path, data: bytes, said: str) -> None:
    file = tmp_path / "mine.toml"
    file.write_bytes(data)
    with pytest.raises(BuildErrors, match=said):
        load(file)


def test_a_file_of_just_1_MB_is_read(tmp_path: Path, example: str) -> None:
    file = tmp_path / "mine.toml"
    file.write_bytes(example.encode() + b"#" * (1_000_000 - len(example.encode())))
    assert load(file).name == "smoke_tunnel"


def test_a_missing_file_a_folder_and_a_device_are_refused(tmp_path: Path) -> None:
    with pytest.raises(BuildErrors, match="no such file; `diodewright new` writes one"):
        load(tmp_path / "none.toml")
    with pytest.raises(BuildErrors, match="no such file; the shipped example is smoke_tunnel"):
        load(tmp_path / "smoke_tunnel.toml")
    with pytest.raises(BuildErrors, match="is a folder"):
        load(tmp_path / ".." / tmp_path.name)
    with pytest.raises(BuildErrors, match="is not a plain file"):
        load("/dev/zero")
    with pytest.raises(BuildErrors, match="can't be read"):
        load("a/b\0c")
    with pytest.raises(BuildErrors, match="can't be read"):
        load("/" + "x" * 5000)


def test_an_unreadable_file_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "mine.toml"
    file.write_text("format = 1")

    def refused(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refused)  # the tests may run as a user who may read all
    with pytest.raises(BuildErrors, match="can't be read: Permission denied"):
        load(file)


def test_an_unknown_example_gets_the_nearest_name() -> None:
    with pytest.raises(BuildErrors, match=r"no such example; did you mean smoke_tunnel\?"):
        load("smoke_tunel")
    with pytest.raises(BuildErrors, match=r"no such example; examples: .*smoke_tunnel"):
        load("..")


def test_a_control_character_never_reaches_the_terminal() -> None:
    with pytest.raises(BuildErrors) as caught:
        load_text('format = 1\n"\\u001b[31m" = "\\u001b"\n', "m\x1b.toml")
    assert "\x1b" not in str(caught.value)


@pytest.mark.parametrize("depth", [10, 100, 200, 300, 400, 500, 5000])
def test_however_deep_a_value_is_nested_it_is_told_on_a_line(depth: int) -> None:
    with pytest.raises(BuildErrors) as caught:
        load_text("a = " + "[" * depth + "]" * depth, "mine.toml")
    assert all(len(str(problem)) < 400 for problem in caught.value.problems)


def test_a_set_input_without_any_levels_is_told_what_it_needs() -> None:
    text = fetch("smoke_tunnel_dummy")[0]
    levels = re.search(r"\[levels\]\n(?:.+\n)+", text)
    assert levels
    with pytest.raises(BuildErrors, match=r"\[levels\]: section missing; it needs reserve_A"):
        load_text(text.replace(levels[0], ""), "mine.toml")
