"""The card and the label: what a person must know, from the document alone, nothing invented."""

import dataclasses
import re
from html import unescape
from typing import Any
from xml.etree import ElementTree

import pytest

from diodewright.rehearse import Rehearsal
from diodewright.report.card import PLACEHOLDERS, card_parts, label_lines
from diodewright.report.page import render_card, render_label
from diodewright.report.shape import document_of
from report_builds import handed


def _rows(done: Rehearsal) -> dict[str, str]:
    """Return every row of the card by its name."""
    return {name: said for _, rows in card_parts(document_of(done)) for name, said in rows}


def _words(page: str) -> str:
    text = re.sub(r"<style>.*?</style>", "", page, flags=re.DOTALL)
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", text)).split())


def test_the_card_says_output_time_rest_cells_charging_and_eyewear(complete: Rehearsal) -> None:
    """Each figure is one of the document or of the build file, never a new one."""
    rows = _rows(complete)
    assert "0.852 W, 413 lm, at 520 nm, from 1.5 A" in rows["output"]
    assert "full light for 170 s from cold" in rows["on"]
    assert "light comes 5 s after the press" in rows["one press"]
    assert "at most 20 min" in rows["one press"]
    assert "18 min" in rows["rest"]
    assert "10 to 35 degC" in rows["air"]
    assert "2 x lithium-ion, 2 in series: 2.6 Ah, 7.8 A" in rows["cells"]
    assert "above 4.2 V" in rows["never"]
    assert "under 1.11 A" in rows["never"]
    assert "108 min" in rows["minutes"]
    assert "7.3 V" in rows["empty"]
    assert "to 4.2 V a cell and no further" in rows["charging"]
    assert rows["eyewear"].startswith(complete.hazard["eyewear"])
    assert complete.hazard["title"] in rows["hazard"]


def test_the_page_of_the_card_has_every_row_and_every_caution(complete: Rehearsal) -> None:
    words = _words(render_card(document_of(complete)))
    for said in (*_rows(complete).values(), *complete.cautions):
        printed = said.replace(" degC", " °C").replace("W/m2", "W/m²")
        assert printed.replace(" x ", " \N{MULTIPLICATION SIGN} ") in words


def test_a_light_that_does_not_hold_is_not_to_be_handed_over(
    complete: Rehearsal, failing: Rehearsal
) -> None:
    lost = dataclasses.replace(failing, card=complete.card)
    words = _words(render_card(document_of(lost)))
    assert f"Do not hand over: FAILS {lost.reasons[0]}; and 1 more" in words
    assert set(_rows(lost)) == {"eyewear", "hazard"}
    assert "Do not hand over" not in _words(render_card(document_of(complete)))


def test_an_older_document_says_what_it_does_not_hold(holding: Rehearsal) -> None:
    rows = _rows(holding)
    for name in ("rest", "cells"):
        assert rows[name] == "not in this document; rehearse the build again"
    assert "charging" not in rows


@pytest.mark.parametrize(
    ("edit", "says"),
    [
        ({"chemistry": "alkaline", "charging": "never: they leak"}, "never: they leak"),
        ({"series": 1, "parallel": 2}, "2 x lithium-ion, never in series, 2 side by side"),
        ({"series": 3, "parallel": 2}, "6 x lithium-ion, 3 in series, 2 side by side"),
    ],
)
def test_cells_are_said_as_the_build_has_them(
    complete: Rehearsal, edit: dict[str, Any], says: str
) -> None:
    card = {**complete.card, "cells": {**complete.card["cells"], **edit}}
    rows = _rows(dataclasses.replace(complete, card=card))
    assert says in rows["cells"] + rows["charging"]


def test_a_bench_supply_has_a_supply_and_no_cells(complete: Rehearsal) -> None:
    rows = _rows(dataclasses.replace(complete, card=handed("smoke_tunnel_bench")["card"]))
    assert "bench supply of 8.4 V" in rows["supply"]
    assert "cells" not in rows


def test_a_use_that_never_lit_or_never_cut_back_says_so(complete: Rehearsal) -> None:
    for edit, says in (
        ({"lit_s": 0.0}, "never lit"),
        ({"before_cutback_s": 600.0}, "all of the 10 min"),
        ({"before_cutback_s": None}, "was not seen"),
    ):
        done = dataclasses.replace(complete, use={**complete.use, **edit})
        assert says in _rows(done)["on"]


def _label(done: Rehearsal) -> str:
    root = ElementTree.fromstring(render_label(document_of(done)))
    return " ".join((text.text or "") for text in root.iter("{http://www.w3.org/2000/svg}text"))


def test_the_label_marks_the_place_of_the_standards_words_and_says_none_of_them(
    complete: Rehearsal,
) -> None:
    """IEC 60825-1 and IEC 62471 were not read: no sentence of theirs may stand on it."""
    said = _label(complete)
    assert complete.hazard["title"] in said
    assert PLACEHOLDERS["laser"] in said
    marked = re.sub(r"\[[^]]*\]", "", said).lower()
    for word in ("avoid", "danger", "warning", "stare", "exposure", "radiation", "product"):
        assert word not in marked


def test_the_label_of_an_led_and_of_a_dummy_are_their_own(complete: Rehearsal) -> None:
    led = {**complete.hazard, "kind": "led", "title": "LED risk group RG2: 1.30 W from 4 mm2"}
    said = _label(dataclasses.replace(complete, hazard=led))
    assert PLACEHOLDERS["led"] in said
    assert "60825" not in said
    none = {**complete.hazard, "kind": "none", "title": "dummy load: no light"}
    dark = dataclasses.replace(complete, hazard=none)
    assert "emits no light" in _label(dark)
    assert "[" not in _label(dark)
    assert all(len(line) <= 44 for line in label_lines(document_of(dark)))


def test_card_and_label_load_nothing_and_run_nothing(complete: Rehearsal) -> None:
    for text in (render_card(document_of(complete)), render_label(document_of(complete))):
        for word in ("https://", "<script", "javascript:", " src=", "@import", "<link", "url("):
            assert word not in text
        assert "http://" not in text.replace('xmlns="http://www.w3.org/2000/svg"', "")


def test_words_from_the_build_file_stay_words_on_card_and_label(complete: Rehearsal) -> None:
    build = {**complete.build, "purpose": "<script>1</script>", "name": "a<b"}
    document = document_of(dataclasses.replace(complete, build=build))
    for text in (render_card(document), render_label(document)):
        assert "<script" not in text
        assert "a&lt;b" in text
