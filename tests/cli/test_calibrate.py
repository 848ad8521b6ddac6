"""`calibrate` on the command line: the diff first, a write only when told."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from diodewright.build import load, template

DUMMY = "smoke_tunnel_dummy"
Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def lamp(tmp_path: Path) -> str:
    file = tmp_path / "lamp.toml"
    file.write_text(template("lamp", DUMMY))
    return str(file)


@pytest.fixture
def points(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.chdir(tmp_path)
    file = tmp_path / "points.csv"
    rows = "".join(
        f"{read:.5f},{true:.5f}\n"
        for read, true in ((true / 1.006, true) for true in (0.15, 0.6, 1.05, 1.5))
    )
    file.write_text("board_A,meter_A\n" + rows)
    return str(file)


def test_the_verb_shows_the_diff_and_writes_only_when_told(
    lamp: str, points: str, here: Run, tmp_path: Path
) -> None:
    words = ("calibrate", lamp, "current", "--points", points, "--accuracy", "0.05")
    before = Path(lamp).read_text()
    code, out, _ = here(*words, "--out", "drawn")
    assert code == 0 and "+current_gain = 1.006" in out and "nothing is written" in out
    assert "current_full_mA 2000 -> 201" in out and "expected" in out
    assert Path(lamp).read_text() == before
    assert (tmp_path / "drawn" / "calibration_current.svg").read_text().startswith("<?xml")
    code, out, _ = here(*words, "--write")
    assert code == 0 and out.index("+current_gain") < out.index("written")
    assert load(lamp).calibration.current_gain == pytest.approx(1.006, abs=6e-4)
    assert Path(f"{lamp}.before-1").read_text() == before


def test_the_verb_s_document_has_what_the_screen_has(lamp: str, points: str, here: Run) -> None:
    code, out, _ = here(
        "calibrate", lamp, "current", "--points", points, "--accuracy", "0.05", "--json"
    )
    document = json.loads(out)
    assert code == 0 and next(iter(document)) == "format" and document["written"] is False
    assert document["gain"] == pytest.approx(1.006, abs=1e-3)
    assert len(document["points"]) == 4 and document["points"][0]["meter_A"] == 0.15
    assert document["words"]["current_full_mA"] in ([2000, 2012], [2000, 2013])


def test_further_files_of_the_same_circuit_get_the_same(
    lamp: str, points: str, here: Run, tmp_path: Path
) -> None:
    laser = tmp_path / "laser.toml"
    laser.write_text(template("laser", "smoke_tunnel"))
    words = ("calibrate", lamp, "current", "--points", points, "--accuracy", "0.05")
    code, _, _ = here(*words, "--also", str(laser), "--write")
    assert code == 0
    assert load(laser).calibration == load(lamp).calibration != load(DUMMY).calibration


def test_a_file_of_another_circuit_is_refused_before_any_is_written(
    lamp: str, points: str, here: Run, tmp_path: Path
) -> None:
    other, before = tmp_path / "other.toml", Path(lamp).read_text()
    other.write_text(before.replace("monitor_shunt_mohm = 50", "monitor_shunt_mohm = 40"))
    words = ("calibrate", lamp, "current", "--points", points, "--accuracy", "0.05", "--write")
    code, _, err = here(*words, "--also", str(other))
    assert code == 2 and "its [sensors] differs" in err
    assert Path(lamp).read_text() == before


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("calibrate", "LAMP", "current", "--accuracy", "0.1"), "--port names the board's port"),
        (
            ("calibrate", "LAMP", "pack", "--accuracy", "0.1", "--port", "/dev/no-such"),
            "/dev/no-such: no such port",
        ),
        (
            ("calibrate", "LAMP", "pack", "--accuracy", "0.1", "--port", "x", "--meter", "visa:y"),
            "y: ",
        ),
        (("calibrate", "LAMP", "light", "--accuracy", "0.1"), "is not one of"),
        (("calibrate", "LAMP", "current"), "--accuracy"),
        (("calibrate", "no.toml", "current", "--accuracy", "0.1"), "no.toml: no such file"),
        (
            ("calibrate", DUMMY, "current", "--points", "POINTS", "--accuracy", "0.1", "--write"),
            "a shipped example is not written to",
        ),
    ],
)
def test_a_mistake_is_one_message_and_exit_2(
    lamp: str, points: str, here: Run, words: tuple[str, ...], said: str
) -> None:
    own = [{"LAMP": lamp, "POINTS": points}.get(word, word) for word in words]
    before = Path(lamp).read_text()
    code, _, err = here(*own)
    assert code == 2 and said in err and "Traceback" not in err
    assert Path(lamp).read_text() == before
    assert not list(Path().glob("*before*"))
