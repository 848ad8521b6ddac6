"""What a flash rests on: a rehearsal that holds for this build and law, or named findings."""

import dataclasses
from pathlib import Path
from typing import Any

import pytest
from flash_board import NAME, document

from diodewright.bench import BenchError, NotGrounded
from diodewright.bench.ground import excused, finding_ids
from diodewright.bench.passport import as_built, read_as_built
from diodewright.build import load, with_value
from diodewright.rehearse import Rehearsal
from diodewright.report.reading import read_document

BUILD = load(NAME)


def rehearsed(tmp_path: Path, **changes: Any) -> Rehearsal:
    return read_document(document(BUILD, tmp_path / "r.json", **changes))


def test_a_rehearsal_that_holds_excuses_nothing_and_needs_nothing(tmp_path: Path) -> None:
    assert excused(BUILD, rehearsed(tmp_path), (), "r.json") == ()


def test_another_build_or_another_law_is_no_ground(tmp_path: Path) -> None:
    with pytest.raises(NotGrounded, match="of another build"):
        excused(load("cave_lamp"), rehearsed(tmp_path), (), "r.json")
    other = dataclasses.replace(rehearsed(tmp_path), law_hash="0" * 64)
    with pytest.raises(NotGrounded, match="another law"):
        excused(BUILD, other, (), "r.json")


def test_every_finding_that_fails_must_be_named_and_no_other(tmp_path: Path) -> None:
    reasons = [
        "stage-full-on@steady: the diode is lost",
        "only faults was rehearsed",
        "margins, corner: junction stays below its limit: worst 130 degC, limit 125; mend: less",
    ]
    done = dataclasses.replace(rehearsed(tmp_path), verdict="FAILS", reasons=reasons)
    names = tuple(finding_ids(done))
    assert names == (
        "stage-full-on@steady",
        "only-faults-was-rehearsed",
        "margins-corner-junction-stays-below-its-limit",
    )
    assert excused(BUILD, done, names, "r.json") == names
    with pytest.raises(NotGrounded) as open_:
        excused(BUILD, done, names[:1], "r.json")
    assert names[1] in str(open_.value) and names[0] not in str(open_.value)
    with pytest.raises(BenchError, match="did you mean stage-full-on@steady"):
        excused(BUILD, done, (*names, "stage-full-on@stedy"), "r.json")
    with pytest.raises(BenchError, match="no such finding"):
        excused(BUILD, rehearsed(tmp_path), names[:1], "r.json")


def test_a_finding_of_the_use_goes_by_its_id(tmp_path: Path) -> None:
    done = rehearsed(tmp_path)
    row = next(row for row in done.findings if row["id"] == "junction")
    reason = f"use: {row['meaning']}: 130 degC, limit 125 degC; mend: less current"
    assert tuple(finding_ids(dataclasses.replace(done, reasons=[reason]))) == ("use:junction",)


def test_a_verdict_without_a_reason_is_no_ground(tmp_path: Path) -> None:
    done = dataclasses.replace(rehearsed(tmp_path), verdict="INCOMPLETE", reasons=[])
    with pytest.raises(NotGrounded):
        excused(BUILD, done, (), "r.json")


def test_what_the_hazard_refuses_stays_refused_whatever_is_named(tmp_path: Path) -> None:
    hasty = with_value(BUILD, "limits.delay_s", 0.5)
    done = rehearsed(tmp_path)
    named = dict(done.build) | {"fingerprint": hasty.fingerprint}
    with pytest.raises(NotGrounded, match=r"no --despite changes that: .*indicator before"):
        excused(hasty, dataclasses.replace(done, build=named), (), "r.json")
    judged = dict(done.hazard) | {"breaches": ["class 4 without a stop"]}
    said = dataclasses.replace(done, hazard=judged, reasons=["class 4 without a stop"])
    with pytest.raises(NotGrounded, match="no --despite changes that: class 4 without a stop"):
        excused(BUILD, said, ("class-4-without-a-stop",), "r.json")


def test_the_as_built_text_gives_back_what_was_put_in() -> None:
    number = "0123456789abcdef"
    for despite in ((), ("use:junction",), ("a@b", "c")):
        assert read_as_built(as_built(number, despite)) == (number, despite)
    assert read_as_built("calibrated by hand") == ("", ())
    with pytest.raises(BenchError, match="has room for 400"):
        as_built(number, ["x" * 40] * 10)
