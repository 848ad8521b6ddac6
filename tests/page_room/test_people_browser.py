"""The page for people: by keyboard, aloud, on a phone, in the dark, without a jump.

Thresholds are those of WCAG 2.2 and of Web Vitals, named beside each.
"""

import json
import re
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import pytest

from contrast import COLOURS, luminance

_SIZES = [(320, "dark"), (1100, "light")]


@pytest.mark.parametrize(("width", "scheme"), _SIZES)
def test_nothing_is_cut_off_and_every_text_has_contrast_enough(
    serve: Callable[..., Any], look: Callable[..., Any], width: int, scheme: str
) -> None:
    """WCAG 2.2: 1.4.10 reflow at 320 px, 1.4.3 contrast 4.5, 2.5.8 targets of 24 px."""
    page = look(serve(), width, 800, scheme)
    page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
    beyond = """() => [...document.querySelectorAll('body *')]
        .filter(e => !e.closest('.box, svg, .skip, .stands h2, .uplot, pre'))
        .filter(e => e.getBoundingClientRect().right > innerWidth + 0.5)
        .map(e => e.outerHTML.slice(0, 80))"""
    assert page.evaluate(beyond) == []
    assert page.evaluate("document.documentElement.scrollWidth") == width
    for pair, text in page.evaluate(COLOURS):
        ink, ground = (
            [int(value) for value in part] for part in re.findall(r"(\d+), (\d+), (\d+)", pair)
        )
        low, high = sorted((luminance(ink), luminance(ground)))
        assert (high + 0.05) / (low + 0.05) >= 4.5, (pair, text)
    small = """() => [...document.querySelectorAll('button, select, input:not([type=radio])')]
        .filter(e => e.type !== 'checkbox' && e.offsetParent)
        .map(e => [e.getBoundingClientRect(), e.outerHTML.slice(0, 80)])
        .filter(([r]) => r.height < 24 || r.width < 24).map(([, text]) => text)"""
    assert page.evaluate(small) == []


def test_everything_that_can_be_used_has_a_name_and_headings_go_down_in_steps(
    serve: Callable[..., Any], look: Callable[..., Any]
) -> None:
    """WCAG 2.2: 4.1.2 name, role, value as Chromium computes them; 1.3.1, 2.4.6."""
    page = look(serve())
    levels = page.evaluate("[...document.querySelectorAll('h1,h2,h3,h4')].map(h => +h.tagName[1])")
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))
    tree = page.context.new_cdp_session(page).send("Accessibility.getFullAXTree")
    roles = {"button", "switch", "slider", "checkbox", "radio", "combobox", "searchbox",
             "spinbutton", "link", "image"}  # fmt: skip
    used = [
        (node["role"]["value"], node.get("name", {}).get("value", ""))
        for node in tree["nodes"]
        if not node.get("ignored") and node["role"]["value"] in roles
    ]
    assert len(used) > 60
    assert [role for role, name in used if not name.strip()] == []
    assert {"switch", "slider", "button", "radio"} <= {role for role, _ in used}


def test_every_control_is_reached_by_tab_in_the_order_of_the_page(
    serve: Callable[..., Any], look: Callable[..., Any]
) -> None:
    """WCAG 2.2: 2.1.1 keyboard, 2.4.3 focus order, 2.4.7 focus visible, 2.4.1 bypass blocks."""
    page = look(serve())
    seen = []
    for _ in range(30):
        page.keyboard.press("Tab")
        seen.append(
            page.evaluate(
                """() => { const e = document.activeElement, s = getComputedStyle(e);
                return [e.id || e.dataset.control || e.dataset.slider || e.name
                    || e.getAttribute('href'), s.outlineStyle !== 'none' || e.className === 'skip',
                    e.getBoundingClientRect().bottom > 0]; }"""
            )
        )
    names = [name for name, _, _ in seen]
    assert names[0] == "#stands"
    order = ["trigger", "trigger-keep", "key", "interlock", "level", "ambient", "charge", "pause"]
    assert [names.index(name) for name in order] == sorted(names.index(name) for name in order)
    assert all(visible for _, visible, _ in seen), seen
    assert all(there for _, _, there in seen), seen


@pytest.mark.parametrize("width", [360, 1100])
def test_nothing_jumps_while_the_light_is_used(
    serve: Callable[..., Any], look: Callable[..., Any], width: int
) -> None:
    """Cumulative layout shift, Web Vitals: good is 0.1; what a person's input moves counts not."""
    served = serve()
    page = look(served, width)
    page.evaluate(
        """() => { window.shift = 0; new PerformanceObserver(list => {
        for (const e of list.getEntries()) if (!e.hadRecentInput) window.shift += e.value;
        }).observe({type: 'layout-shift', buffered: true}); }"""
    )
    page.locator("input[name=speed][value='20']").check()
    page.locator("#trigger-keep").check()
    page.locator("#trigger").focus()
    page.keyboard.press("Enter")
    page.locator("#mode", has_text=re.compile("^run$")).wait_for()
    page.wait_for_timeout(600)  # what follows is no answer to an input any more
    served.ask("break", "diode-short")
    page.locator("#mode", has_text=re.compile("^fault$")).wait_for()
    page.wait_for_timeout(500)
    assert page.evaluate("window.shift") < 0.02
    boxes = page.evaluate("[...document.querySelectorAll('.unseen')].map(e => e.offsetWidth)")
    assert boxes == [1], "what is only said aloud is seen"


def test_the_first_paint_is_useful_within_a_second(
    serve: Callable[..., Any], look: Callable[..., Any]
) -> None:
    """Of a second visit on loopback: what is painted first has text, controls and room for all."""
    served = serve()
    look(served)
    page = look(served)
    painted = page.evaluate("performance.getEntriesByName('first-contentful-paint')[0].startTime")
    assert painted < 1000
    assert page.evaluate("performance.getEntriesByType('navigation')[0].transferSize") < 100_000


@pytest.mark.parametrize("motion", ["reduce", "no-preference"])
def test_who_wants_less_motion_gets_two_pictures_a_second(
    serve: Callable[..., Any], look: Callable[..., Any], motion: str
) -> None:
    """WCAG 2.2, 2.3.3 in spirit: prefers-reduced-motion is heeded; time itself goes on."""
    page = look(serve(), reduced_motion=motion)
    page.locator("#curves").scroll_into_view_if_needed()
    before = page.evaluate("({...window.diodewright})")
    page.wait_for_timeout(3000)
    after = page.evaluate("({...window.diodewright})")
    frames = after["frames"] - before["frames"]
    assert after["rows"] - before["rows"] > 500
    assert frames <= 8 if motion == "reduce" else frames > 8


def test_what_is_scrolled_away_is_told_seldom_and_comes_up_to_date_when_seen(
    serve: Callable[..., Any], look: Callable[..., Any]
) -> None:
    served = serve()
    page = look(served)
    for there in ("#tune", "#curves", "#tune", "#curves", "#tune"):
        page.locator(there).scroll_into_view_if_needed()
        page.wait_for_timeout(300)
    before = page.evaluate("({...window.diodewright})")
    page.wait_for_timeout(2000)
    after = page.evaluate("({...window.diodewright})")
    # twice a second its figures are told, for a screen reader
    assert 2 <= after["frames"] - before["frames"] <= 5
    assert after["rows"] - before["rows"] > 600
    served.ask("pause", "")
    page.get_by_role("button", name="Go on").wait_for()
    page.locator("#curves").scroll_into_view_if_needed()
    page.wait_for_timeout(500)
    # time stands still: nothing but the look itself asks for a picture
    assert page.evaluate("window.diodewright.frames") > after["frames"]


def _heap(page: Any) -> int:
    session = page.context.new_cdp_session(page)
    session.send("HeapProfiler.collectGarbage")
    return int(session.send("Runtime.getHeapUsage")["usedSize"])


def _memory_run(page: Any, served: Any, seconds: int) -> tuple[list[int], float, float]:
    """Return the heap [bytes] at five moments, frames a second, and rows a simulated second."""
    page.wait_for_timeout(2000)
    heaps = [_heap(page)]
    begun, tick = page.evaluate("({...window.diodewright, at: performance.now()})"), None
    tick = served.source.run.now
    for _ in range(4):
        page.wait_for_timeout(250 * seconds)
        heaps.append(_heap(page))
    done = page.evaluate("({...window.diodewright, at: performance.now()})")
    took_s = (done["at"] - begun["at"]) / 1000
    ticks_s = (served.source.run.now - tick) / 1000
    return (
        heaps,
        (done["frames"] - begun["frames"]) / took_s,
        (done["rows"] - begun["rows"]) / ticks_s,
    )


def test_a_stream_of_every_tick_does_not_grow_the_page(
    serve: Callable[..., Any], look: Callable[..., Any]
) -> None:
    """Some seconds of it; ten minutes are run by hand."""
    served = serve()
    page = look(served)
    page.locator("#curves").scroll_into_view_if_needed()
    heaps, _, rows_s = _memory_run(page, served, 8)
    assert rows_s == pytest.approx(1000, rel=0.1)
    assert heaps[-1] - heaps[1] < 1_000_000, heaps


@pytest.mark.by_hand
def test_ten_minutes_of_every_tick_do_not_grow_the_page(
    serve: Callable[..., Any], look: Callable[..., Any]
) -> None:
    served = serve()
    page = look(served)
    page.locator("#curves").scroll_into_view_if_needed()
    heaps, frames_s, rows_s = _memory_run(page, served, 600)
    print(json.dumps({"heaps": heaps, "frames_s": frames_s, "rows_s": rows_s}))
    assert rows_s == pytest.approx(1000, rel=0.02)
    assert max(heaps[1:]) - min(heaps[1:]) < 2_000_000, heaps
