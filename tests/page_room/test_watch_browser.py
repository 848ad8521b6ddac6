"""A board watched in a real browser: OFF works by hand and key, nothing on the page lights it."""

import json
import re
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from diodewright.bench.watch import SENT
from diodewright.build import load
from diodewright.page.document import files_of, page_text
from diodewright.page.opening import TELEMETRY_HZ, board_of
from diodewright.page.recorded import Recorded
from diodewright.sim import Trace
from page_wire import until, wire_to

#: What greets a board, and asks whether a command was done: beside `SENT` all that is said.
_GREETING = {"*CLS", "*IDN?", "SYST:ERR?", ""}


def _mode(page: Any, name: str) -> None:
    page.locator("#mode", has_text=re.compile(f"^{name}$")).wait_for()


@pytest.fixture
def watched(board: Any, serve: Callable[..., Any]) -> Any:
    return serve(board_of(load("cave_lamp"), board.cable.name), "cave_lamp")


def _said_to(board: Any) -> set[str]:
    return {line.strip() for line in board.given.decode("ascii").split("\n")}


def _allowed() -> set[str]:
    rates = {SENT["rate"].format(rate=rate) for rate in (TELEMETRY_HZ, 0)}
    return _GREETING | rates | {text for name, text in SENT.items() if name != "rate"}


@pytest.mark.parametrize("how", ["key", "hand"])
def test_off_makes_a_lit_board_dark_and_says_so(
    board: Any, watched: Any, look: Callable[..., Any], how: str
) -> None:
    page = look(watched)
    _mode(page, "dark")
    board.hand("plant.trigger", 1)
    page.locator("#mode", has_text=re.compile("^(run|limited)$")).wait_for()
    page.locator(
        "li[data-column=current_read_A] output", has_text=re.compile(r"[1-9]\d\d$")
    ).wait_for()
    assert board.session.twin.true("diode_A") > 0.2
    if how == "key":
        page.keyboard.press("Escape")
    else:
        page.get_by_role("button", name="OFF").click()
    _mode(page, "dark")
    page.locator("#off-told", has_text="made dark").wait_for()
    page.locator("#hint", has_text="OUTPut is off").wait_for()
    assert board.session.twin.true("diode_A") < 0.015
    assert _said_to(board) <= _allowed()


def test_no_script_and_no_word_of_a_watched_page_lights(
    board: Any, watched: Any, look: Callable[..., Any]
) -> None:
    """All that is served is searched, then every wish of the other pages is forged."""
    build = load("cave_lamp")
    text = page_text(build, "board", watched.source.columns)
    served = b"".join(data for data, _ in files_of("board", False).values()) + text.encode()
    assert set(re.findall(rb'say\("([a-z-]+)"', served)) == {b"off", b"window"}
    page = look(watched)
    controls = page.evaluate(
        "[...document.querySelectorAll('button, input, select, [role=button]')].map(e => e.id)"
    )
    assert sorted(controls) == ["off", "window"]
    before = len(board.given)
    wishes = ["press", "let-go", "set", "break", "mend", "go", "step", "seek", "begin", "on",
              "light", "OUTP ON", "tell", "ask", "OFF\nOUTP ON"]  # fmt: skip
    with wire_to(watched) as wire:
        for wish in wishes:
            wire.send(json.dumps({"do": wish, "what": "OUTP ON", "value": 1}))
            assert until(wire, "refused")["do"] == wish
        time.sleep(0.5)
    assert board.mode() == "dark"
    assert {line.strip() for line in board.given[before:].decode().split("\n")} <= _allowed()


def test_a_cable_that_is_pulled_leaves_a_gap_and_off_says_that_it_was_not_sent(
    board: Any, watched: Any, look: Callable[..., Any]
) -> None:
    page = look(watched)
    _mode(page, "dark")
    board.cable.unplug()
    page.locator("#alarm", has_text="NO LINE").wait_for()
    page.keyboard.press("Escape")
    page.locator("#off-told", has_text="NOT SENT").wait_for()
    time.sleep(0.5)
    board.cable.plug()
    _mode(page, "dark")
    page.locator("#gap-told", has_text="missing").wait_for()


def test_a_watching_that_breaks_says_so_and_off_is_not_confirmed(
    board: Any,
    watched: Any,
    look: Callable[..., Any],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    page = look(watched)
    _mode(page, "dark")
    monkeypatch.setattr(watched.source._watch, "turn", lambda: 1 / 0)
    page.locator("#alarm", has_text="OFF does not work").wait_for()
    page.keyboard.press("Escape")
    page.locator("#off-told", has_text="NOT CONFIRMED").wait_for()
    assert "ZeroDivisionError" in capsys.readouterr().err


def test_off_is_in_sight_wherever_one_scrolls_on_a_phone(
    board: Any, watched: Any, look: Callable[..., Any]
) -> None:
    page = look(watched, 360, 640)
    for y in (0, 400, 100_000):
        page.evaluate(f"scrollTo(0, {y})")
        box = page.locator("#off").bounding_box()
        assert box["x"] >= 0 and box["x"] + box["width"] <= 360
        assert box["y"] >= 0 and box["y"] + box["height"] <= 640
        assert box["height"] >= 44  # WCAG 2.2, 2.5.5 target size


def test_a_server_that_is_gone_makes_off_say_so(
    board: Any, watched: Any, look: Callable[..., Any]
) -> None:
    page = look(watched)
    watched.stop()
    page.locator("#off-told", has_text="NOT SENT").wait_for()
    assert page.locator("#off").is_enabled()
    page.troubles = [said for said in page.troubles if "ERR_CONNECTION_REFUSED" not in said]


def _recording(path: Path) -> Path:
    """Write a recording of two seconds with a gap of one in it."""
    time_s = np.concatenate([np.arange(0, 0.5, 0.05), [0.55], np.arange(1.5, 2.0, 0.05)])
    gap = time_s == 0.55
    columns = {"time_s": time_s}
    for name, value in (("current_read_A", 1.5), ("mode", 6.0), ("mount_read_degC", 31.0)):
        columns[name] = np.where(gap, np.nan, value)
    Trace(columns, ((0.55, "gap of 0.95 s"),), {"recorder": "telemetry"}).save_npz(path)
    return path


def test_a_recording_is_shown_with_its_gap_and_can_be_scrubbed(
    serve: Callable[..., Any], look: Callable[..., Any], tmp_path: Path
) -> None:
    trace = Trace.load_npz(_recording(tmp_path / "run.npz"))
    page = look(serve(Recorded(trace, "run.npz")))
    _mode(page, "no data")
    page.locator("#alarm", has_text="nothing was recorded").wait_for()
    _mode(page, "run")
    page.locator("#gap-told", has_text="missing").wait_for()
    page.locator("#seek").focus()
    page.keyboard.press("Home")
    page.locator("#now", has_text="0.000 s").wait_for()
    assert page.locator("figure[data-plot=light]").count() == 0
    assert page.locator("li[data-column=diode_A]").count() == 0
    assert page.locator("#trigger, #off").count() == 0
