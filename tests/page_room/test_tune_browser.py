"""Settings moved in a real browser: what they give, what fails and where, and what is written."""

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from diodewright.build import load, template
from diodewright.page.hands import breakable
from diodewright.report.facts import CODES
from diodewright.report.fault_map import NO_CASE
from page_wire import until, wire_to

_WARM = "[data-key='limits.mount_warm_degC']"
#: The first look at sixty faults, on a machine that is busy [ms].
_FIRST_MS = 90_000


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "lamp.toml"
    path.write_text(template("lamp", "smoke_tunnel"))
    return path


def _settings(page: Any) -> None:
    page.locator("#tune").scroll_into_view_if_needed()
    page.locator("#tune-faults", has_text="single faults survive").wait_for(timeout=_FIRST_MS)


def _exactly(page: Any, row: str, value: str) -> None:
    exact = page.locator(f"{row} input[type=number]")
    page.locator(f"{row} input[type=number]:enabled").wait_for(timeout=_FIRST_MS)
    exact.fill(value)
    exact.press("Enter")


def test_a_setting_is_moved_judged_refused_shown_and_written(
    serve: Callable[..., Any], look: Callable[..., Any], file: Path
) -> None:
    """One story in one page, for a first look takes seconds."""
    before = file.read_text()
    page = look(serve(name=str(file)))
    _settings(page)
    figure = page.locator("[data-figure=before_cutback_s] td")
    saved = figure.nth(1).text_content()
    # by keyboard, on the slider itself
    page.locator(f"{_WARM} input[type=range]:enabled").wait_for(timeout=_FIRST_MS)
    page.locator(f"{_WARM} input[type=range]").focus()
    for _ in range(20):
        page.keyboard.press("ArrowRight")
    page.locator("[data-figure=before_cutback_s]", has_text="+").wait_for(timeout=_FIRST_MS)
    assert float(figure.nth(1).text_content()) > float(saved)
    assert file.read_text() == before
    # beyond what the build takes: said in words, at the slider that mends it
    _exactly(page, _WARM, "57")
    page.locator("#tune-word", has_text="FAILS").wait_for(timeout=_FIRST_MS)
    hot = page.locator("[data-key='limits.mount_hot_degC'] .fails")
    assert "cutback must begin below where it ends" in hot.text_content()
    # too early: the light that is asked for does not last, told where it is mended
    _exactly(page, _WARM, "38")
    page.locator(f"{_WARM} .fails", has_text="full level before heat cuts back").wait_for(
        timeout=_FIRST_MS
    )
    assert hot.text_content() == ""
    _exactly(page, _WARM, "48")
    page.locator("#tune-word", has_text="HOLDS").wait_for(timeout=_FIRST_MS)
    page.get_by_role("button", name="Show what would change").click()
    page.locator("#tune-diff", has_text="+mount_warm_degC = 48").wait_for()
    assert file.read_text() == before
    page.locator("#tune-write").click()
    page.locator("#tune-written", has_text="is written").wait_for()
    assert load(str(file)).limits.mount_warm_degC == 48
    assert (file.parent / "lamp.toml.before-1").read_text() == before


@pytest.mark.by_hand
def test_the_fault_map_streams_in_whole(
    serve: Callable[..., Any], look: Callable[..., Any]
) -> None:
    """Every fault that this light can have, each cell of it with a letter."""
    served = serve()
    page = look(served)
    _settings(page)
    page.locator("#map-said", has_text=re.compile(r"\d+ cases run, all")).wait_for(timeout=600_000)
    letters = page.locator("#map tbody td").all_text_contents()
    assert set(letters) <= {*CODES, NO_CASE}
    rows = page.locator("#map tbody tr").count()
    assert rows == len(breakable(load("smoke_tunnel")))
    assert page.locator("#map tbody tr.old").count() == 0


def _wish(wire: Any, do: str, what: str = "", value: float = 0.0) -> None:
    wire.send(json.dumps({"do": do, "what": what, "value": value}))


def _shown(wire: Any) -> Any:
    """Ask what would be written, and return it."""
    _wish(wire, "tune-change")
    return until(wire, "tune-change", lambda of: of is not None)


def test_nothing_is_written_but_what_was_shown(serve: Callable[..., Any], file: Path) -> None:
    before = file.read_text()
    with wire_to(serve(name=str(file))) as wire:
        for do, what, value in (
            ("tune-write", "", 0),
            ("tune-change", "", 0),
            ("tune", "no.such", 1),
            ("tune", "limits.mount_warm_degC", 1e6),
            ("tune-back", "no.such", 0),
        ):
            _wish(wire, do, what, value)
            assert until(wire, "refused")["do"] == do
        _wish(wire, "tune", "limits.mount_warm_degC", 48)
        shown = _shown(wire)
        _wish(wire, "tune", "limits.mount_warm_degC", 49)  # what was shown is old now
        _wish(wire, "tune-write", shown["digest"])
        assert "look again" in until(wire, "refused")["why"]
        shown = _shown(wire)
        _wish(wire, "tune-write", "0" * 64)
        assert "look again" in until(wire, "refused")["why"]
        file.write_text(before + "# by hand meanwhile\n")
        _wish(wire, "tune-write", shown["digest"])
        assert "changed meanwhile" in until(wire, "refused")["why"]
    assert file.read_text() == before + "# by hand meanwhile\n"


def test_a_shipped_example_is_not_written_to(serve: Callable[..., Any]) -> None:
    with wire_to(serve()) as wire:
        _wish(wire, "tune", "limits.mount_warm_degC", 48)
        _wish(wire, "tune-write", _shown(wire)["digest"])
        assert "shipped example" in until(wire, "refused")["why"]
