"""The command line as a person and a script meet it: exit codes, refusals, documents."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from command import diodewright
from diodewright.build import load
from diodewright.faults import CATALOGUE, ENGINE
from diodewright.rehearse import MOMENTS
from diodewright.rehearse.cases import lacks


def test_help_lists_the_verbs_in_the_order_of_the_work(tmp_path: Path) -> None:
    done = diodewright("--help", cwd=tmp_path)
    assert done.returncode == 0
    verbs = [
        *(
            "new",
            "parts",
            "size",
            "rehearse",
            "case",
            "prove",
            "tune",
            "hazard",
        ),
        *(
            "faults",
            "report",
            "twin",
            "sheet",
            "flash",
            "calibrate",
            "characterise",
            "watch",
        ),
        *(
            "burst",
            "compare",
            "fit",
            "diff",
            "page",
            "demo",
        ),
    ]
    commands = done.stdout.split("Commands:")[1].splitlines()
    assert [line.split()[0] for line in commands if line.strip()] == verbs


def test_help_imports_nothing_heavy(tmp_path: Path) -> None:
    code = (
        "import sys\n"
        "from diodewright.cli import verbs\n"
        "verbs(['--help'], standalone_mode=False)\n"
        "print([name for name in ('numba', 'numpy', 'matplotlib', 'z3') if name in sys.modules])\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=tmp_path, capture_output=True, text=True, check=True
    )
    assert done.stdout.splitlines()[-1] == "[]"


def test_new_prints_a_file_that_loads_and_writes_only_when_asked(tmp_path: Path) -> None:
    done = diodewright("new", "my_lamp", cwd=tmp_path)
    assert done.returncode == 0
    assert list(tmp_path.iterdir()) == []
    assert diodewright("new", "my_lamp", "--write", cwd=tmp_path).returncode == 0
    assert (tmp_path / "my_lamp.toml").read_text() == done.stdout
    assert load(tmp_path / "my_lamp.toml").name == "my_lamp"
    again = diodewright("new", "my_lamp", "--write", cwd=tmp_path)
    assert again.returncode == 2
    assert "exists already" in again.stderr


def test_bad_build_is_told_all_at_once_with_key_and_mend_and_writes_nothing(
    tmp_path: Path,
) -> None:
    text = diodewright("new", "mine", cwd=tmp_path).stdout
    text = text.replace("delay_s = 5", "delay_ms = 5000")
    text = text.replace("mount_warm_degC = 46", "mount_warm_degC = 61")
    text = text.replace("soft_start_ms = 500", "soft_strat_ms = 500")
    path = tmp_path / "mine.toml"
    path.write_text(text)
    done = diodewright("rehearse", "./mine.toml", "--out", "there", cwd=tmp_path)
    assert done.returncode == 2
    assert "Traceback" not in done.stderr
    lines = done.stderr.splitlines()
    assert any("delay_ms" in line and "delay_s = 5" in line for line in lines)
    assert any("soft_strat_ms" in line and "soft_start_ms" in line for line in lines)
    assert any("mount_warm_degC" in line for line in lines)
    assert [item.name for item in tmp_path.iterdir()] == ["mine.toml"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("size", "smoke_tunel"), "smoke_tunnel"),
        (("size", "./nowhere.toml"), "nowhere.toml"),
        (("rehearse", "smoke_tunnel", "--only", "lunch"), "lunch"),
        (("case", "smoke_tunnel", "diode-opn@steady"), "diode-open"),
        (("report", "nothing.json", "--out", "x"), "nothing.json"),
        (("dem",), "dem"),
        (("parts", "led_whit_1mm2"), "did you mean led_white_1mm2?"),
        (("parts", "own.toml"), "own.toml: no such file"),
    ],
)
def test_a_users_mistake_is_one_message_and_exit_2(
    tmp_path: Path, words: tuple[str, ...], said: str
) -> None:
    done = diodewright(*words, cwd=tmp_path)
    assert done.returncode == 2
    assert said in done.stderr
    assert "Traceback" not in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_size_document_has_a_format_and_units_in_its_keys(tmp_path: Path) -> None:
    document = json.loads(diodewright("size", "smoke_tunnel", "--json", cwd=tmp_path).stdout)
    assert document["format"] == 1
    assert "light_W" in json.dumps(document)


def test_choices_that_help_needs_at_once_are_those_of_the_tables() -> None:
    from diodewright.cli import verbs
    from diodewright.rehearse.matrix import GUARDS
    from diodewright.rehearse.rehearsal import PARTS

    options = {option.name: option.type for option in verbs.commands["rehearse"].params}
    assert list(options["without"].choices) == list(GUARDS)
    assert sorted(options["only"].choices) == sorted(PARTS)


def test_only_a_part_exits_3_and_prints_its_document(tmp_path: Path) -> None:
    done = diodewright("rehearse", "smoke_tunnel", "--only", "use", "--json", cwd=tmp_path)
    assert done.returncode == 3
    document = json.loads(done.stdout)
    assert (document["format"], document["verdict"]) == (1, "INCOMPLETE")
    assert document["faults"] == []
    # what the report hands over is of the build, whatever was rehearsed
    assert document["card"]["longest_on_s"] == 1200
    assert document["derate"]["mount"]["dark_degC"] == 60
    assert {"key": "diode.absolute_A", "value": 2.0, "unit": "A"} in document["given"]
    assert "diodewright" in document["versions"]


def test_demo_holds_names_its_folder_and_the_report_renders_again_to_the_byte(
    tmp_path: Path,
) -> None:
    done = diodewright("demo", cwd=tmp_path)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "HOLDS" in done.stdout
    assert "smoke_tunnel_rehearsal" in done.stdout
    first = tmp_path / "smoke_tunnel_rehearsal"
    document = json.loads((first / "rehearsal.json").read_text())
    assert {row["at"] for row in document["faults"]} == set(MOMENTS)
    assert {row["id"] for row in document["faults"]} == {
        row.id for row in ENGINE if not lacks(load("smoke_tunnel"), row)
    }
    assert (
        diodewright("report", str(first / "rehearsal.json"), "--out", "b", cwd=tmp_path).returncode
        == 0
    )
    for name in ("report.html", "card.html", "label.svg"):
        assert (tmp_path / "b" / name).read_bytes() == (first / name).read_bytes()


def test_case_shows_one_case_and_writes_trace_and_figure(tmp_path: Path) -> None:
    done = diodewright("case", "smoke_tunnel", "stage-full-on@steady", cwd=tmp_path)
    assert done.returncode == 0
    assert "comparator" in done.stdout
    suffixes = {path.suffix for path in tmp_path.rglob("*") if path.is_file()}
    assert {".npz", ".svg"} <= suffixes


def test_faults_and_parts_list_what_there_is(tmp_path: Path) -> None:
    listed = diodewright("faults", cwd=tmp_path).stdout
    assert all(row.id in listed for row in CATALOGUE)
    assert "li_ion_18650_2600" in diodewright("parts", cwd=tmp_path).stdout


def test_parts_shows_one_part_and_checks_a_file_of_own_ones(tmp_path: Path) -> None:
    assert "4.8 V at 1.2 A" in " ".join(
        diodewright("parts", "laser_blue_450_1W6", cwd=tmp_path).stdout.split()
    )
    text = diodewright("new", "mine", cwd=tmp_path).stdout
    text = text.replace('#parts_file = ""', 'parts_file = "own.toml"')
    text = text.replace('"mosfet_n_logic_20mohm"', '"own_switch"')
    (tmp_path / "mine.toml").write_text(text, encoding="utf-8")
    own = """[[part]]
name = "own_switch"
key = "cutoffs.a_part"
meaning = "MOSFET of an old board"
source = "its data sheet"
a_rds_mohm = 22
a_tempco_pct_K = 0.5
a_theta_K_W = 62
a_vgs_guaranteed_V = 2.5
"""
    (tmp_path / "own.toml").write_text(own, encoding="utf-8")
    listed = json.loads(diodewright("parts", "own.toml", "--json", cwd=tmp_path).stdout)
    assert [part["name"] for part in listed["parts"]] == ["own_switch"]
    sized = json.loads(diodewright("size", "mine.toml", "--json", cwd=tmp_path).stdout)
    sources = {row["key"]: row["source"] for row in sized["assumed"]}
    assert sources["cutoffs.a_rds_mohm"] == "own_switch: its data sheet"
    (tmp_path / "own.toml").write_text(own.replace("22", '"22 mohm"'), encoding="utf-8")
    for words in (("parts", "own.toml"), ("size", "mine.toml")):
        done = diodewright(*words, cwd=tmp_path)
        assert done.returncode == 2
        assert "own.toml:6: part own_switch: a_rds_mohm" in done.stderr
        assert "Traceback" not in done.stderr


def test_a_scenario_of_ones_own_goes_with_only_use_and_is_refused_with_its_line(
    tmp_path: Path,
) -> None:
    words = ("rehearse", "cave_lamp", "--scenario", "own.toml")
    (tmp_path / "own.toml").write_text('name = "mine"\n\n[[step]]\nat_s = 1\ndo = "pres"\n')
    alone = diodewright(*words, cwd=tmp_path)
    assert (alone.returncode, "--only use" in alone.stderr) == (2, True)
    wrong = diodewright(*words, "--only", "use", "--out", "there", cwd=tmp_path)
    assert wrong.returncode == 2
    assert 'own.toml:5: step 1: do = "pres"' in wrong.stderr
    assert "Traceback" not in wrong.stderr
    assert [item.name for item in tmp_path.iterdir()] == ["own.toml"]


def test_a_shipped_scenario_is_rehearsed_by_name_and_its_report_shows_it(tmp_path: Path) -> None:
    words = ("--only", "use", "--scenario", "cave_lamp_survey", "--out", "there")
    done = diodewright("rehearse", "cave_lamp", *words, cwd=tmp_path)
    assert done.returncode == 3, done.stdout + done.stderr
    assert "an hour of surveying" in (tmp_path / "there" / "report.html").read_text()
    document = json.loads((tmp_path / "there" / "rehearsal.json").read_text())
    assert [row["status"] for row in document["findings"]].count("fails") == 0
