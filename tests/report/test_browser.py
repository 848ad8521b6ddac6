"""The page in a real browser: readable on a phone, by keyboard, in the dark, aloud and on paper.

Needs Playwright and a Chromium of this machine; without them these checks skip and say so. The
thresholds are those of WCAG 2.2, named beside each.
"""

import dataclasses
import os
import re
from collections.abc import Callable, Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from contrast import COLOURS, luminance
from diodewright.rehearse import MOMENTS, Rehearsal
from diodewright.report.files import write_report
from diodewright.report.pdf import QUIET, chromium

playwright = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed")
pdfium = pytest.importorskip("pypdfium2", reason="pypdfium2 is not installed")
pytestmark = pytest.mark.skipif(chromium() is None, reason="no Chromium on this machine")

OPTIONS = [*QUIET, *(["--no-sandbox"] if os.geteuid() == 0 else [])]
HTML = ("report.html", "card.html")
SCHEMES = ("light", "dark")
#: A4 and A5 in points of 1/72 inch (ISO 216: 210 x 297 mm, 148 x 210 mm).
A4 = (210 / 25.4 * 72, 297 / 25.4 * 72)
A5 = (148 / 25.4 * 72, 210 / 25.4 * 72)


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    with playwright.sync_playwright() as started:
        context = started.chromium.launch_persistent_context(
            tmp_path_factory.mktemp("profile"),
            executable_path=chromium(),
            args=OPTIONS,
            headless=True,
        )
        yield context
        context.close()


@pytest.fixture
def written(complete: Rehearsal, written_once: Callable[[Rehearsal], Path]) -> Path:
    """Return the folder of a document with everything in it."""
    row = {**complete.findings[0], "id": "edge-trip", "meaning": "a trip's true peak"}
    return written_once(dataclasses.replace(complete, edges=[row]))


@pytest.fixture(scope="module")
def written_once(tmp_path_factory: pytest.TempPathFactory) -> Callable[[Rehearsal], Path]:
    made: dict[str, Path] = {}

    def folder(done: Rehearsal) -> Path:
        text = done.as_json()
        if text not in made:
            made[text] = write_report(done, tmp_path_factory.mktemp("report")).parent
        return made[text]

    return folder


@pytest.fixture
def shown(browser: Any) -> Iterator[Callable[..., Any]]:
    """Return a function that opens a file so wide [px], light or dark, on screen or paper."""
    page = browser.new_page()
    page.troubles = []
    page.asked = []
    page.on("console", lambda said: page.troubles.append(said.text))
    page.on("pageerror", lambda error: page.troubles.append(str(error)))
    page.on("request", lambda request: page.asked.append(request.url))

    def show(file: Path, width: int = 1100, scheme: str = "light", media: str = "screen") -> Any:
        page.set_viewport_size({"width": width, "height": 800})
        page.emulate_media(color_scheme=scheme, media=media)
        page.goto(file.as_uri())
        return page

    yield show
    page.close()


@pytest.mark.parametrize("name", [*HTML, "label.svg"])
def test_nothing_goes_wrong_and_nothing_is_asked_of_outside(
    shown: Callable[..., Any], written: Path, name: str
) -> None:
    page = shown(written / name)
    assert page.troubles == []
    assert page.asked == [(written / name).as_uri()]


@pytest.mark.parametrize("width", [320, 360])
@pytest.mark.parametrize("name", HTML)
def test_a_phone_shows_all_of_it_without_scrolling_sideways(
    shown: Callable[..., Any], written: Path, name: str, width: int
) -> None:
    """WCAG 2.2, 1.4.10 reflow at 320 px; what is wider scrolls within a box of its own."""
    page = shown(written / name, width)
    beyond = """() => [...document.querySelectorAll('body *')]
        .filter(e => !e.closest('.box, svg, .skip'))
        .filter(e => e.getBoundingClientRect().right > innerWidth + 0.5)
        .map(e => e.outerHTML.slice(0, 80))"""
    assert page.evaluate(beyond) == []
    assert page.evaluate("document.documentElement.scrollWidth") == width


@pytest.mark.parametrize("scheme", SCHEMES)
def test_the_map_scrolls_in_its_box_with_moment_and_fault_in_sight(
    shown: Callable[..., Any],
    holding: Rehearsal,
    written_once: Callable[[Rehearsal], Path],
    scheme: str,
) -> None:
    """A letter says nothing without its row and column; seen at 360 px, far down and right."""
    case = holding.faults[0]
    moments = {at: {"meaning": "a moment", "reached": True} for at in MOMENTS}
    many = [{**case, "id": f"fault-{n}", "at": at} for n in range(60) for at in MOMENTS]
    done = dataclasses.replace(holding, faults=many, moments=moments)
    page = shown(written_once(done) / "report.html", 360, scheme)
    below = page.evaluate(
        """() => {
            const box = document.querySelector('.map').closest('.box');
            box.scrollTop = box.scrollLeft = 300;
            const edge = box.getBoundingClientRect();
            const at = e => e.getBoundingClientRect();
            return [box.scrollTop, box.scrollLeft,
                at(box.querySelector('thead th:last-child')).top - edge.top,
                at(box.querySelector('tbody tr:last-child th')).left - edge.left];
        }"""
    )
    assert below == [300, 300, pytest.approx(1, abs=0.6), pytest.approx(1, abs=0.6)]


def test_the_first_tab_offers_to_skip_to_the_verdict(
    shown: Callable[..., Any], written: Path
) -> None:
    """WCAG 2.2, 2.4.1 bypass blocks, 2.4.7 focus visible."""
    page = shown(written / "report.html")
    page.keyboard.press("Tab")
    focus = "(([x, y]) => [document.activeElement.className, x >= 0 && y >= 0])"
    place = "(r => [r.left, r.top])(document.activeElement.getBoundingClientRect())"
    assert page.evaluate(f"{focus}({place})") == ["skip", True]
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "verdict"


def test_every_box_that_scrolls_can_be_reached_by_keyboard_and_has_a_name(
    shown: Callable[..., Any], written: Path
) -> None:
    """WCAG 2.2, 2.1.1 keyboard, 4.1.2 name, role, value."""
    page = shown(written / "report.html", 360)
    boxes = page.evaluate(
        """() => [...document.querySelectorAll('body *')]
        .filter(e => e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).overflowX == 'auto')
        .map(e => [e.tabIndex, e.getAttribute('role'), e.getAttribute('aria-label')])"""
    )
    assert len(boxes) > 5
    assert all(index == 0 and role == "region" and label for index, role, label in boxes)


@pytest.mark.parametrize("name", HTML)
def test_headings_go_down_one_step_at_a_time(
    shown: Callable[..., Any], written: Path, name: str
) -> None:
    page = shown(written / name)
    levels = page.evaluate(
        "[...document.querySelectorAll('h1,h2,h3,h4,h5,h6')].map(h => +h.tagName[1])"
    )
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))
    assert len(levels) > 3


def test_every_figure_is_told_in_words(shown: Callable[..., Any], written: Path) -> None:
    """WCAG 2.2, 1.1.1 non-text content: a name, and what its curves do."""
    page = shown(written / "report.html")
    figures = page.evaluate(
        """() => [...document.querySelectorAll('svg')].map(s => [s.getAttribute('role'),
        s.getAttribute('aria-label'),
        document.getElementById(s.getAttribute('aria-describedby'))?.textContent])"""
    )
    assert len(figures) == 10
    for role, label, said in figures:
        assert role == "img"
        assert label
        assert re.search(r"\d.*Horizontal: .*\[", said), label


@pytest.mark.parametrize("media", ["screen", "print"])
@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("name", HTML)
def test_every_text_as_it_is_shown_has_contrast_enough(
    shown: Callable[..., Any], written: Path, name: str, scheme: str, media: str
) -> None:
    """WCAG 2.2, 1.4.3: 4.5; as computed by the browser, text in figures included."""
    page = shown(written / name, scheme=scheme, media=media)
    pairs = page.evaluate(COLOURS)
    assert len(pairs) >= 2
    for pair, text in pairs:
        ink, ground = (
            [int(value) for value in part] for part in re.findall(r"(\d+), (\d+), (\d+)", pair)
        )
        low, high = sorted((luminance(ink), luminance(ground)))
        assert (high + 0.05) / (low + 0.05) >= 4.5, (pair, text)


def test_the_dark_page_is_dark_and_the_printed_one_white(
    shown: Callable[..., Any], written: Path
) -> None:
    ground = "getComputedStyle(document.body).backgroundColor"
    seen = {
        (scheme, media): shown(written / "report.html", 1100, scheme, media).evaluate(ground)
        for scheme in SCHEMES
        for media in ("screen", "print")
    }
    bright = {
        how: luminance([int(value) for value in re.findall(r"\d+", text)])
        for how, text in seen.items()
    }
    assert bright["dark", "screen"] < 0.05
    assert bright["light", "screen"] > 0.9
    assert bright["dark", "print"] == bright["light", "print"] == pytest.approx(1)


def _pages(page: Any, to: Path) -> tuple[list[str], list[tuple[float, float]]]:
    """Print the page and return the text and the size [pt] of each sheet."""
    page.emulate_media(media="print")
    page.pdf(path=to, prefer_css_page_size=True, print_background=True)
    document = pdfium.PdfDocument(to)
    texts = [" ".join(sheet.get_textpage().get_text_bounded().split()) for sheet in document]
    return texts, [sheet.get_size() for sheet in document]


def test_paper_is_a4_and_no_figure_is_cut_by_its_end(
    shown: Callable[..., Any], written: Path, complete: Rehearsal, tmp_path: Path
) -> None:
    page = shown(written / "report.html")
    texts, sizes = _pages(page, tmp_path / "a4.pdf")
    assert sizes == [pytest.approx(A4, abs=1)] * len(sizes)
    assert complete.verdict in texts[0]
    assert complete.cautions[0][:60] in texts[0]
    assert not [text for text in texts if len(text) < 100], "a sheet with nothing on it"
    figures = page.evaluate(
        """() => [...document.querySelectorAll('figure')].map(f => [
        f.querySelector('b').textContent,
        [...f.querySelectorAll('svg text')].map(t => t.textContent)])"""
    )
    for title, words in figures:
        (sheet,) = [text for text in texts if title in text]
        assert not [word for word in words if word not in sheet], title


def test_a_row_of_a_table_is_never_cut_and_its_head_is_said_again(
    shown: Callable[..., Any], written: Path, complete: Rehearsal, tmp_path: Path
) -> None:
    page = shown(written / "report.html", media="print")
    kept = "e => getComputedStyle(e).breakInside"
    rows = page.evaluate(f"[...document.querySelectorAll('tr, figure')].map({kept})")
    assert set(rows) == {"avoid"}
    texts, _ = _pages(page, tmp_path / "a4.pdf")
    for row in complete.findings:
        meaning = row["meaning"].replace(" degC", " °C")
        (sheet,) = [text for text in texts if f"{meaning} holds" in text]
        assert "criterion verdict" in sheet


def test_the_card_is_one_sheet_of_a5_whatever_it_says(
    shown: Callable[..., Any],
    complete: Rehearsal,
    failing: Rehearsal,
    written_once: Callable[[Rehearsal], Path],
    tmp_path: Path,
) -> None:
    words = " ".join(["a light for"] + 30 * ["use"] + ["in a workshop, behind a closed cover"])
    long = dataclasses.replace(complete, build={**complete.build, "purpose": words})
    lost = dataclasses.replace(failing, card=complete.card, given=complete.given)
    for done in (complete, long, lost):
        texts, sizes = _pages(shown(written_once(done) / "card.html"), tmp_path / "card.pdf")
        assert sizes == [pytest.approx(A5, abs=1)]
        assert done.cautions[-1] in texts[0]


def test_the_label_keeps_all_its_words_within_its_frame(
    shown: Callable[..., Any], complete: Rehearsal, written_once: Callable[[Rehearsal], Path]
) -> None:
    long = dataclasses.replace(
        complete, build={**complete.build, "name": "a_name_of_forty_letters_which_is_allowed"}
    )
    for done in (complete, long):
        page = shown(written_once(done) / "label.svg")
        wide, tall, boxes = page.evaluate(
            """() => [document.documentElement.viewBox.baseVal.width,
            document.documentElement.viewBox.baseVal.height,
            [...document.querySelectorAll('text')].map(t => (b => [b.x, b.y, b.x + b.width,
            b.y + b.height])(t.getBBox()))]"""
        )
        assert len(boxes) > 4
        for left, top, right, bottom in boxes:
            assert left >= 1 and top >= 1
            assert right <= wide - 1 and bottom <= tall - 1
