"""The page: self-contained, repeatable, readable without colour, true to its document."""

import dataclasses
import hashlib
import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import matplotlib
import numpy as np
import pytest

from diodewright.rehearse import Rehearsal
from diodewright.report.page import render
from diodewright.report.shape import document_of
from report_page import read

Partial = Callable[[str], Rehearsal]
PageOf = Callable[[Rehearsal], str]


def test_the_page_of_a_document_is_the_same_in_another_process(
    page_of: PageOf, holding: Rehearsal
) -> None:
    trimmed = Path(__file__).parent / "smoke_tunnel.json"
    code = (
        "import hashlib, json, sys\n"
        "from diodewright.rehearse import Rehearsal\n"
        "from diodewright.report.page import render\n"
        "from diodewright.report.shape import document_of\n"
        "values = json.load(open(sys.argv[1], encoding='utf-8'))\n"
        "page = render(document_of(Rehearsal.from_dict(values)))\n"
        "print(hashlib.sha256(page.encode()).hexdigest())\n"
    )
    paths = os.pathsep.join(each for each in sys.path if each)
    environment = os.environ | {"PYTHONHASHSEED": "4711", "TZ": "Asia/Tokyo", "PYTHONPATH": paths}
    other = subprocess.run(
        [sys.executable, "-c", code, str(trimmed)],
        env=environment,
        capture_output=True,
        text=True,
        check=True,
    )
    assert other.stdout.strip() == hashlib.sha256(page_of(holding).encode()).hexdigest()


def test_what_other_libraries_set_does_not_show_in_the_page(
    page_of: PageOf, holding: Rehearsal
) -> None:
    """A colour library that the tests use sets NumPy's way of printing when it is imported."""
    before = page_of(holding)
    foreign = {"lines.linewidth": 7, "xtick.major.size": 9}
    with matplotlib.rc_context(foreign), np.printoptions(legacy="1.13"):
        assert render(document_of(holding)) == before


def test_the_page_loads_nothing_and_runs_nothing(page_of: PageOf, failing: Rehearsal) -> None:
    page = page_of(failing)
    for word in ("http://", "https://", "<script", "javascript:", " src=", "@import", "<link"):
        assert word not in page
    assert not re.search(r"\son\w+=", page)
    assert set(re.findall(r"url\((.)", page)) <= {"#"}


def test_the_page_is_well_formed_with_ids_of_their_own(page_of: PageOf, failing: Rehearsal) -> None:
    reader = read(page_of(failing))
    assert [name for name, count in reader.ids.items() if count > 1] == []
    assert {link for link in reader.links if link[1:] not in reader.ids} == set()


def test_verdict_then_caution_then_the_rest(page_of: PageOf, failing: Rehearsal) -> None:
    text = " ".join(read(page_of(failing)).text)
    places = [
        text.index(word)
        for word in ("FAILS", failing.reasons[0], failing.hazard["title"], "at which point")
    ]
    assert places == sorted(places)


def test_every_reason_hazard_line_and_caution_is_on_thepage_of(
    page_of: PageOf, failing: Rehearsal
) -> None:
    text = " ".join(read(page_of(failing)).text)
    for line in failing.reasons + failing.hazard["lines"] + failing.cautions + failing.leaves_out:
        assert line.replace(" degC", " °C").replace("W/m2", "W/m²") in text


def test_assumed_points_of_a_part_are_shown_whole(page_of: PageOf, holding: Rehearsal) -> None:
    points = [[0.2, 4.15], [1.2, 4.8]]
    row = {"key": "diode.forward_points_A_V", "value": points, "unit": "A, V", "source": "a part"}
    done = dataclasses.replace(holding, assumed=[*holding.assumed, row])
    rows = [row for row in read(page_of(done)).rows if "diode.forward_points_A_V" in row[0]]
    assert [row[1].strip() for row in rows] == ["[0.2, 4.15], [1.2, 4.8]"]


def test_a_criterion_that_fails_shows_value_limit_margin_and_mend(
    page_of: PageOf, failing: Rehearsal
) -> None:
    row = next(row for row in read(page_of(failing)).rows if "first minute" in row[0])
    assert "mend: more light" in row[0]
    assert row[1:4] == ["FAILS", "0.74999 W, at least 0.75", "under 0.1 % beyond"]


@pytest.mark.parametrize("only", ["use", "faults"])
def test_a_part_that_was_not_rehearsed_is_named_and_never_passes(
    page_of: PageOf, partial: Partial, only: str
) -> None:
    page = page_of(partial(only))
    text = " ".join(read(page).text)
    assert "INCOMPLETE" in text
    assert f"only {only} was rehearsed" in text
    assert text.count("Not rehearsed:") == 1
    assert page.count("<figure>") == (5 if only == "use" else 0)


def test_every_assumed_value_stands_with_unit_and_source(
    page_of: PageOf, holding: Rehearsal
) -> None:
    rows = {row[0]: row[1:] for row in read(page_of(holding)).rows if len(row) == 6}
    for each in holding.assumed:
        _, unit, _, _, source = rows[each["key"]]
        assert (unit, source) == (each["unit"].replace("mohm", "mΩ"), each["source"])


def test_provenance_names_build_law_seed_and_engine(page_of: PageOf, failing: Rehearsal) -> None:
    text = " ".join(read(page_of(failing)).text)
    for each in (failing.build["fingerprint"], failing.law_hash, failing.engine, str(failing.seed)):
        assert each in text


def test_words_from_the_build_file_stay_words(page_of: PageOf, values: dict[str, Any]) -> None:
    values["build"]["purpose"] = "<script>alert(1)</script> & {{ 7 * 7 }}"
    page = page_of(Rehearsal.from_dict(values))
    assert "<script" not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt; &amp; {{ 7 * 7 }}" in page


def _palettes(page: str) -> list[dict[str, str]]:
    """Return the light, dark and printed colours of the page's style sheet."""
    blocks = re.findall(r":root \{(.*?)\}", page, flags=re.DOTALL)
    return [dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", block)) for block in blocks]


def _luminance(colour: str) -> float:
    """Relative luminance of sRGB, WCAG 2.2, "relative luminance"."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _contrast(one: str, other: str) -> float:
    """Contrast ratio, WCAG 2.2, "contrast ratio"."""
    low, high = sorted((_luminance(one), _luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_contrast_measure_agrees_with_the_standards_own_extremes() -> None:
    assert _contrast("#000000", "#ffffff") == pytest.approx(21)


def test_text_and_curves_have_the_contrast_that_wcag_asks_for(
    page_of: PageOf, holding: Rehearsal
) -> None:
    """WCAG 2.2: 4.5 for text (1.4.3), 3 for graphics (1.4.11), light, dark and on paper."""
    palettes = _palettes(page_of(holding))
    assert len(palettes) == 3
    for colours in palettes:
        for ground in ("paper", "sheet"):
            for text in ("ink", "soft", "accent"):
                assert _contrast(colours[text], colours[ground]) >= 4.5, (text, ground)
            for curve in ("blue", "red", "green", "plum"):
                assert _contrast(colours[curve], colours[ground]) >= 3, (curve, ground)


def test_assumed_values_that_matter_stand_out_with_why(page_of: PageOf, weighed: Rehearsal) -> None:
    page = page_of(weighed)
    assert "5 values, 1 matter, 2 could not be told" in page
    (row,) = [line for line in page.splitlines() if "<code>pack.cell_full_V</code>" in line]
    assert row.startswith('<tr class="bad">')
    assert ">matters</td><td>less light</td>" in row
    rest = [line for line in page.splitlines() if "nothing follows from it" in line]
    assert [">no</td>" in line or ">not told</td>" in line for line in rest] == [True] * 4


def test_a_scenario_stands_in_the_page_with_its_steps_as_rows(
    page_of: PageOf, described: Rehearsal
) -> None:
    page = page_of(described)
    assert '<td class="n">90.5</td><td>fault air-blocked</td>' in page
    assert "80 % of charge" in page
    assert "time from the end of the rest [s]" in page
    assert "A rested lamp, nothing broken" not in page
    assert "of light after the first minute" not in page


def test_transients_have_a_table_of_their_own_with_limit_margin_and_mend(
    page_of: PageOf, holding: Rehearsal
) -> None:
    row = {**holding.findings[0], "id": "edge-trip", "meaning": "a trip's true peak"}
    broken = {**row, "id": "edge-reverse", "status": "fails", "margin": -0.5, "unit": "V"}
    broken |= {"value": 3.0, "limit": 2.0, "meaning": "the ring stays small", "mend": "a diode"}
    told = {"verdict": "FAILS", "reasons": ["edge: broken"], "edges": [row, broken]}
    reader = read(page_of(dataclasses.replace(holding, **told)))
    assert reader.ids["edges"] == 1
    rows = [row for row in reader.rows if "the ring stays small" in row[0]]
    assert [cell.strip() for cell in rows[0][1:4]] == ["FAILS", "3 V, at most 2", "50.0 % beyond"]
    assert "mend: a diode" in rows[0][0]
    assert "edges" not in read(page_of(holding)).ids, "a result from before them has none"


def test_a_verdict_that_a_broken_transient_contradicts_is_refused(holding: Rehearsal) -> None:
    broken = {**holding.findings[0], "id": "edge-trip", "status": "fails"}
    with pytest.raises(ValueError, match="verdict HOLDS, but edge-trip does not"):
        document_of(dataclasses.replace(holding, edges=[broken]))


def test_the_sections_stand_in_the_order_that_a_reader_asks_in(
    page_of: PageOf, complete: Rehearsal
) -> None:
    page = page_of(complete)
    names = ["verdict", "caution", "build", "size", "proof", "use", "derate", "faults"]
    names += ["margins", "hazard", "assumed", "left-out", "provenance"]
    assert re.findall(r'<h2[^>]* id="([^"]*)"', page) == names
    assert len(page.encode()) < 3_000_000


def test_every_value_of_the_build_file_stands_in_its_section_with_its_unit(
    page_of: PageOf, complete: Rehearsal
) -> None:
    page = page_of(complete)
    for key, said in (
        ("pack.cell_resistance_mohm", "<span>cell resistance <b>65</b> mΩ</span>"),
        ("diode.wavelength_nm", "<span>wavelength <b>520</b> nm</span>"),
        ("controls.key", "<span>key <b>yes</b></span>"),
        ("levels.half_A", "<span>half <b>0.75</b> A</span>"),
    ):
        assert key in {row["key"] for row in complete.given}
        assert said in page
    section = page.partition('id="build"')[2].partition("</section>")[0]
    assert section.count("<span>") == len(complete.given)


def test_an_older_document_has_no_section_of_what_it_does_not_hold(
    page_of: PageOf, holding: Rehearsal
) -> None:
    reader = read(page_of(holding))
    assert {"build", "derate", "bench", "edges"} & set(reader.ids) == set()
    assert "Not judged: this document holds no margins" in " ".join(reader.text)


def test_an_obligation_that_is_not_proved_stands_with_its_why(
    page_of: PageOf, holding: Rehearsal
) -> None:
    row = {"id": "never-dark", "status": "refuted", "why": "it lights"}
    proof = {**holding.proof, "proved": 102, "open": [row]}
    told = {"verdict": "FAILS", "reasons": ["proof: never-dark"], "proof": proof}
    rows = read(page_of(dataclasses.replace(holding, **told))).rows
    assert ["never-dark", "refuted", "it lights"] in rows


def test_provenance_names_every_version(page_of: PageOf, complete: Rehearsal) -> None:
    text = " ".join(" ".join(read(page_of(complete)).text).split())
    for name, version in complete.versions.items():
        assert f"version of {name} {version}" in text
