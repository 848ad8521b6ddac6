"""The circuit's figures, bills, checks and failure table agree with each other and with builds."""

import csv
import re
from pathlib import Path

import pytest

from diodewright.bench import checks
from diodewright.build import load
from diodewright.faults import Fault
from edits import edited
from tooling import tool

NOTES = Path(__file__).parents[1] / "hardware_notes"
MARK = re.compile(r"\b(?:RT|[A-Z])\d{1,2}\b")
LIGHTS = ("smoke_tunnel", "cave_lamp", "gel_viewer")


def _billed() -> set[str]:
    """Return every mark that a bill of materials gives a part to."""
    found: set[str] = set()
    for name in LIGHTS:
        rows = csv.DictReader((NOTES / "bills" / f"{name}.csv").read_text("utf-8").splitlines())
        for row in rows:
            found |= set(MARK.findall(f"{row['mark']} {row['part']}"))
    return found


@pytest.mark.parametrize("figure", sorted(NOTES.glob("figures/*.svg")), ids=lambda path: path.stem)
def test_every_part_of_a_figure_is_in_a_bill(figure: Path) -> None:
    words = re.findall(r">([^<>]+)<", figure.read_text("utf-8"))
    drawn = {mark for each in words for mark in MARK.findall(each)}
    assert len(drawn) > 3
    assert drawn - _billed() == set()


def test_every_part_of_a_bill_is_drawn() -> None:
    words = " ".join(path.read_text("utf-8") for path in NOTES.glob("figures/*.svg"))
    # in words on the page of pins, beside the pins themselves
    named = set(MARK.findall((NOTES / "pins.md").read_text("utf-8")))
    assert _billed() - set(MARK.findall(words)) - named == set()


def test_the_pages_speak_of_parts_that_there_are() -> None:
    points = {f"J{n}" for n in range(1, 4)} | {f"L{n}" for n in range(1, 4)}
    for name in ("bring_up.md", "acceptance.md", "pins.md"):
        text = (NOTES / name).read_text("utf-8")
        assert set(MARK.findall(text)) - _billed() - points == set(), name


def test_a_check_follows_the_build() -> None:
    plain = {check.do: check for check in checks.assembly(load("smoke_tunnel"))}
    other = edited(
        "smoke_tunnel", {"comparator.over_voltage_V": "6", "sensors.pack_divider": "0.2"}
    )
    moved = {check.do for check in checks.assembly(other) if plain.get(check.do) != check}
    assert moved == {
        "Output from the bench through 1 kohm, raised slowly",
        "3 V at the output, 3 V at the pack",
    }


def test_a_thermistor_in_the_room_reads_the_published_ten_kilohm() -> None:
    # 10 kohm at 25 degC, 12 490 ohm at 20 degC (published table of the part): from 3.3 V through
    # 10 kohm, the converter's 100 kohm across it.
    for degC, ohm in ((25.0, 10_000.0), (20.0, 12_490.0)):
        across_ohm = 1 / (1 / ohm + 1 / 100_000)
        expected_V = 3.3 * across_ohm / (across_ohm + 10_000)
        assert checks._thermistor_V(load("smoke_tunnel"), degC) == pytest.approx(
            expected_V, rel=0.01
        )


def test_what_a_level_reads_holds_a_typical_diode() -> None:
    # The build's own points at 25 degC lie within the band of the output, path included.
    build = load("smoke_tunnel")
    (full, *_) = checks.levels(build)
    low_V, high_V = (float(each) for each in full.output.removesuffix(" V").split(" to "))
    assert low_V < 4.675 + 1.5 * 0.07 < high_V
    low_A, high_A = (float(each) for each in full.diode.removesuffix(" A").split(" to "))
    assert low_A < 1.5 < high_A < build.comparator.trip_min_A


def test_the_failure_table_takes_any_row(monkeypatch: pytest.MonkeyPatch) -> None:
    doc = tool("write_failure_doc")
    odd = Fault(
        id="gate-cracked",
        part="cut-off A",
        happens="floats",
        changes=(),
        expect="dark",
        allowed_ms=4.0,
        acts="hardware",
        mode="open",
        level="edge",
        by="pull-down",
        guard="latent",
        shown_by="criterion edge-gate-leak, gate_hold",
    )
    monkeypatch.setattr(doc, "CATALOGUE", (odd,))
    (row,) = [line for line in doc.page().splitlines() if "gate-cracked" in line]
    for words in (
        "open (MOSFET 5 %)",
        "hardware: pull-down",
        "4 ms",
        "may be dead unseen",
        "[gate_hold](netlists/gate_hold.cir)",
    ):
        assert words in row


def test_every_netlist_that_the_failure_table_names_is_there() -> None:
    shows = tool("write_failure_doc").SHOWS
    assert all(
        (NOTES / "netlists" / f"{n}.cir").exists() for names in shows.values() for n in names
    )
