"""Margins on screen, page and figure: failures in words, and nothing told by colour alone."""

import dataclasses
import re
from typing import Any

import pytest

from diodewright.rehearse import Rehearsal
from diodewright.report.figure_margins import margin_bars
from diodewright.report.page import render
from diodewright.report.screen_margins import margin_lines
from diodewright.report.shape import Document, document_of
from diodewright.report.shape_margins import Margins

#: Invented, and no more of it than the screen needs.
_CURRENT: dict[str, Any] = {
    "id": "diode-current",
    "scope": "fault",
    "meaning": "true peak diode current stays below the absolute maximum",
    "unit": "A",
    "sense": "at_most",
    "limit": 2.0,
    "judged": True,
    "nominal": 1.8,
    "corner": 1.95,
    "drawn_worst": 1.9,
    "drawn_quantile": None,
    "quantile_share": None,
    "margin_nominal": 0.1,
    "margin_worst": 0.025,
    "status": "holds",
    "mend": "",
    "by": [{"tolerance": "inductor", "swing_share": 0.6, "eats_share": 0.4, "worst": 1.88}],
}
_PACK: dict[str, Any] = _CURRENT | {
    "id": "pack-voltage",
    "scope": "use",
    "meaning": "pack stays above its lowest allowed voltage",
    "unit": "V",
    "sense": "at_least",
    "limit": 5.5,
    "nominal": 6.7,
    "corner": 6.1,
    "drawn_worst": 6.4,
    "margin_nominal": 0.218,
    "margin_worst": 0.109,
    "by": [{"tolerance": "cells", "swing_share": 1.0, "eats_share": 0.5, "worst": 6.1}],
}
_BAND: dict[str, Any] = {
    "row": "overcurrent",
    "word": "overcurrent_mA",
    "healthy": 1.5,
    "threshold": 1.627,
    "unit": "A",
    "built_in": 0.127,
    "needed": 0.055,
    "likely": 0.03,
    "fits": True,
    "mend": "a monitor of less tolerance",
    "terms": [{"tolerance": "monitor-gain", "towards": 0.015}],
}
MARGINS: dict[str, Any] = {
    "builds": 59,
    "confidence": 0.95,
    "covered_share": 0.9505,
    "tripped_builds": 0,
    "quantities": [_PACK, _CURRENT],
    "guard_bands": [_BAND],
    "trips": [],
    "lost": [],
    "unnoticed": [],
    "cases": ["stage-full-on@steady"],
    "tolerances": [],
}
_TRIP = {"build": "build 7 of 59", "kind": "drawn", "use": "low", "cause": "follow", "judged": True}


def _document(holding: Rehearsal, **changes: Any) -> Document:
    return document_of(dataclasses.replace(holding, margins=MARGINS | changes))


def _margins(holding: Rehearsal, **changes: Any) -> Margins:
    margins = _document(holding, **changes).margins
    assert margins is not None
    return margins


def test_a_document_from_before_margins_is_still_read(holding: Rehearsal) -> None:
    assert holding.margins == {}
    assert document_of(holding).margins is None
    section = render(document_of(holding)).partition('id="margins"')[2].partition("</section>")[0]
    assert "Not judged: this document holds no margins" in section
    assert "<table" not in section and "<figure" not in section


def test_the_screen_says_how_many_were_drawn_and_the_tightest(holding: Rehearsal) -> None:
    lines = list(margin_lines(_margins(holding)))
    assert len(lines) == 3
    assert lines[0].endswith("59 drawn builds: 2 of 2 limits hold")
    assert "diode current" in lines[1]
    assert "worst 1.95 A, at most 2 (2.5 % left); inductor alone eats 40 % of it" in lines[1]
    assert lines[2].startswith("false trips: 0 of 59 drawn; 1 of 1 guard bands fit; 95 % sure")
    assert "95 % of builds" in lines[2]


def _failing(holding: Rehearsal) -> Margins:
    broken = _CURRENT | {"status": "fails", "corner": 2.1, "margin_worst": -0.05, "mend": "less"}
    done = dataclasses.replace(
        holding,
        verdict="FAILS",
        reasons=["margins: it does not hold"],
        margins=MARGINS
        | {
            "quantities": [_PACK, broken],
            "guard_bands": [_BAND | {"fits": False, "needed": 0.16}],
            "trips": [_TRIP],
            "tripped_builds": 1,
        },
    )
    margins = document_of(done).margins
    assert margins is not None
    return margins


def test_what_fails_is_said_in_words(holding: Rehearsal) -> None:
    text = "\n".join(margin_lines(_failing(holding)))
    assert "FAILS: true peak diode current" in text
    assert "5.0 % beyond" in text
    assert "pack stays" not in text
    assert "drawn: build 7 of 59: follow in the low use" in text
    assert "TOO NARROW: overcurrent (overcurrent_mA): 0.033 A short; mend: a monitor" in text


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"quantities": [_CURRENT | {"status": "fails"}]}, "diode-current"),
        ({"guard_bands": [_BAND | {"fits": False}]}, "guard band overcurrent_mA"),
        ({"trips": [_TRIP]}, "build 7 of 59: follow"),
    ],
)
def test_a_document_that_holds_beside_a_broken_margin_is_refused(holding, change, said) -> None:
    with pytest.raises(ValueError, match=f"verdict HOLDS, but {said}"):
        _document(holding, **change)


def test_the_page_has_table_bands_and_figure(holding: Rehearsal) -> None:
    page = render(_document(holding))
    assert 'href="#margins"' in page
    section = page[page.index('id="margins"') : page.index('id="assumed"')]
    assert section.count("<svg") == 1
    for said in ("59 builds drawn at random", "overcurrent_mA", "inductor 60 % (40 %)", "1.95"):
        assert said in section


def test_the_bars_repeat_and_tell_a_failure_without_colour(holding: Rehearsal) -> None:
    healthy, broken = margin_bars(_margins(holding)), margin_bars(_failing(holding))
    assert healthy == margin_bars(_margins(holding))
    assert "FAILS" in broken
    assert "FAILS" not in healthy
    assert re.search(r"<pattern", healthy), "the worst build's part is hatched"
    assert "used up [%]" in healthy
