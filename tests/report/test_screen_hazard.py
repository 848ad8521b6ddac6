"""The hazard as it is read: at 80 columns, each row with its rule, one verdict, stable keys."""

import dataclasses
import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from diodewright.build import Build, load
from diodewright.derive import worst_light
from diodewright.hazard.beam import Beam
from diodewright.hazard.sources import MARKERS
from diodewright.rehearse import Statement, hazard_statement, state_hazard
from diodewright.rehearse.emission import Brightest, Emission
from diodewright.report import screen, screen_hazard
from diodewright.report.hazard_document import along_m
from diodewright.sim import compiled
from edits import Edits, edited

Shown = Callable[..., tuple[int, str]]

LASER_KEYS = """
wavelength_nm source_mrad laser_class normal_class limits conditions exposures beams worst_beam
along distances eyewear skin"""
LED_KEYS = """
risk_group judged_at_m emitter_mm2 beam_deg blue_radiance_W_m2_sr weighting longest_look_s
thermal_share not_judged measure falls_to group_source weighting_source look_source
retinal_source"""
EMISSION_KEYS = """
normal_W normal_most_W fault_W fault_current_A fault_case bound_W bound_current_A bound_cause
classified_W rule marker"""
TOP_KEYS = """
format verdict reasons build seed law_hash engine kind emission controls no_certificate cautions
leaves_out"""


@pytest.fixture(scope="module")
def stated() -> dict[str, Statement]:
    """Return the statements of three shipped builds, on faults as they ran."""
    names = ("smoke_tunnel", "gel_viewer", "smoke_tunnel_dummy")
    return {name: state_hazard(load(name), compiled()) for name in names}


@pytest.fixture
def shown(
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    stated: dict[str, Statement],
) -> Shown:
    """Return a function: build, columns, ... -> exit code and what was printed."""

    def emitted(build: Build, *_: object) -> Emission:
        """Return the shipped build's simulated light beside this build's own bound."""
        kept = stated["gel_viewer" if build.diode.kind == "led" else "smoke_tunnel"].emission
        return dataclasses.replace(kept, worst=worst_light(build), brightest=_dim(kept))

    def show(build: Build | str, columns: int = 80, **how: Any) -> tuple[int, str]:
        monkeypatch.setenv("COLUMNS", str(columns))
        if isinstance(build, str):
            known = stated[build]
            monkeypatch.setattr(screen_hazard, "state_hazard", lambda *_: known)
            build = load(build)
        else:
            monkeypatch.setattr(screen_hazard, "state_hazard", state_hazard)
            monkeypatch.setattr(hazard_statement, "emission", emitted)
        code = screen.show_hazard(build, 1, how.get("out"), how.get("as_json", False))
        out, err = capsys.readouterr()
        assert err == ""
        return code, out

    return show


def _dim(kept: Emission) -> Brightest:
    """Return the kept case, dimmed, so that another build's bound lies above it."""
    assert kept.brightest is not None
    return dataclasses.replace(kept.brightest, light_W=1e-6)


@pytest.mark.parametrize("name", ["smoke_tunnel", "gel_viewer", "smoke_tunnel_dummy"])
@pytest.mark.parametrize("columns", [80, 100])
def test_nothing_is_wider_than_the_screen_but_commands(
    shown: Shown, name: str, columns: int
) -> None:
    code, text = shown(name, columns)
    assert code == 0
    assert text.splitlines()[0].startswith(f"HOLDS  {name}: ")
    wide = [line for line in text.splitlines() if len(line.rstrip()) > columns]
    assert all(line.strip().startswith("diodewright ") for line in wide), wide


def test_every_figure_of_the_laser_is_on_the_screen(
    shown: Shown, stated: dict[str, Statement]
) -> None:
    _, text = shown("smoke_tunnel")
    flat = " ".join(text.split())
    of: Any = stated["smoke_tunnel"].hazard.of
    for row in of.reaches:
        (line,) = [line for line in text.splitlines() if line.startswith(row.situation)]
        assert f"{row.distance_m:.3g}" in line
    for demand in of.demands:
        words = demand.id.replace("_", " ")
        line = [line for line in text.splitlines() if line.startswith(f"{words} ")][-1]
        assert demand.status in line
    for row in of.exposures:
        assert f"{row.eye.irradiance_W_m2:.3g}" in flat
    seen = stated["smoke_tunnel"].emission.brightest
    assert seen is not None
    assert seen.case in text
    assert "no certificate" in flat
    assert "a qualified safety officer decide" in flat
    assert "6 to look at by hand" in flat


@pytest.mark.parametrize("name", ["smoke_tunnel", "gel_viewer"])
def test_every_mark_leads_to_one_rule_that_says_how_well_it_is_known(
    shown: Shown, name: str
) -> None:
    _, text = shown(name)
    body, _, rules = text.partition("\nrules ")
    used = {int(mark) for mark in re.findall(r"\[(\d+)\]", body)}
    told = [int(mark) for mark in re.findall(r"\[(\d+)\]", rules.partition("\nlimits ")[0])]
    assert told == sorted(used) == list(range(1, len(used) + 1))
    flat = " ".join(rules.partition("\nlimits ")[0].split())
    for said in re.split(r"\s*\[\d+\] ", flat)[1:]:
        assert any(said.endswith(f"({marker})") for marker in MARKERS), said


def test_a_lacking_key_fails_with_its_mend_first(shown: Shown) -> None:
    build = load("smoke_tunnel")
    bare = dataclasses.replace(build, controls=dataclasses.replace(build.controls, key=False))
    code, text = shown(bare)
    assert code == 1
    assert text.startswith("FAILS  smoke_tunnel: laser class 4")
    assert "verdict  FAILS (exit 1): class 4 without key control; mend: controls.key" in text
    (line,) = [line for line in text.splitlines() if line.startswith("key ")]
    assert line.split()[1] == "NO"


def test_an_led_whose_retinal_heat_may_count_is_not_judged(shown: Shown) -> None:
    red: Edits = {
        "diode.wavelength_nm": "660",
        "diode.emitter_mm2": "0.1",
        "diode.light_points_A_W": "[[0.1, 0.14], [0.35, 0.5], [0.7, 1.0]]",
    }
    code, text = shown(edited("gel_viewer", red))
    assert code == 3
    assert "INCOMPLETE (exit 3): retinal thermal may raise" in " ".join(text.split())


def test_a_focus_that_no_filter_stands_and_unseen_light_are_told(shown: Shown) -> None:
    focus: Edits = {
        "enclosure.lens_focal_mm": "4",
        "enclosure.focus_mm": "8",
        "diode.wavelength_nm": "905",
    }
    _, text = shown(edited("smoke_tunnel", focus))
    flat = " ".join(text.split())
    assert "none that is rated stands a focus of 0.00387 mm: keep it enclosed" in flat
    assert "nobody turns away from light that is not seen" in flat
    assert "0.25 s" not in flat.replace("no 0.25 s", "")
    assert "waist focused: 0.008 m" in flat
    beams = [line.split() for line in text.splitlines() if line.startswith(("focused ", "bare "))]
    assert [row[:2] for row in beams[:4]] == [
        ["focused", "along"],
        ["focused", "across"],
        ["bare", "along"],
        ["bare", "across"],
    ]
    assert all(len(row) == (8 if row[1] == "along" else 6) for row in beams[:4]), "a cell is cut"
    assert re.search(r"reaches m *$", text, re.MULTILINE)
    assert along_m(Beam(1.0, 1.0, 1.0, 1.0, 0.25))[:4] == [0.0, 0.1, 0.25, 0.3]
    assert max(len(line.rstrip()) for line in text.splitlines()) <= 80
    assert not [line for line in text.splitlines() if line.startswith("class 2 ")]


def test_keys_of_the_document_are_stable_and_sourced(shown: Shown) -> None:
    _, text = shown("smoke_tunnel", as_json=True)
    document = json.loads(text)
    assert set(document) == {*TOP_KEYS.split(), "laser"}
    assert set(document["laser"]) == set(LASER_KEYS.split())
    assert set(document["emission"]) == set(EMISSION_KEYS.split())
    assert document["verdict"] == "HOLDS"
    laser = document["laser"]
    rows = [*laser["limits"], *laser["conditions"], *laser["exposures"], *laser["beams"]]
    rows += [*laser["distances"], *laser["eyewear"], laser["skin"], *document["controls"]]
    assert len(rows) > 30
    assert all(row["marker"] in MARKERS and row["rule"] for row in rows)
    assert [row["time_s"] for row in laser["exposures"]] == [0.25, 10, 100, 30_000]
    assert laser["limits"][-1]["limit_W"] is None
    wide = laser["beams"][0]
    assert wide["wide_1_e2_mm"] == pytest.approx(2.0)
    assert wide["wide_1_e2_mm"] / wide["wide_1_e_mm"] == pytest.approx(2**0.5)
    assert {row["status"] for row in document["controls"]} == {"yes", "by hand"}
    _, text = shown("gel_viewer", as_json=True)
    document = json.loads(text)
    assert set(document) == {*TOP_KEYS.split(), "led"}
    assert set(document["led"]) == set(LED_KEYS.split())
    _, text = shown("smoke_tunnel_dummy", as_json=True)
    assert set(json.loads(text)) == set(TOP_KEYS.split())


def test_a_folder_gets_the_document_and_the_figure(shown: Shown, tmp_path: Path) -> None:
    for name in ("smoke_tunnel", "gel_viewer"):
        _, text = shown(name, out=tmp_path / name)
        assert {path.name for path in (tmp_path / name).iterdir()} == {"hazard.json", "hazard.svg"}
        assert str(tmp_path / name / "hazard.svg") in "".join(text.split("\n"))
        _, printed = shown(name, as_json=True)
        assert (tmp_path / name / "hazard.json").read_text("utf-8") == printed
    shown("smoke_tunnel_dummy", out=tmp_path / "dummy")
    assert [path.name for path in (tmp_path / "dummy").iterdir()] == ["hazard.json"]
