"""The light tried in a real browser, by clicks and keys; each story ends with a clean console."""

import re
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import msgspec
import pytest

from diodewright.page.run import Kept, again
from diodewright.sim import Trace


def _mode(page: Any, name: str) -> None:
    page.locator("#mode", has_text=re.compile(f"^{name}$")).wait_for()


def _speed(page: Any, times: int) -> None:
    page.locator(f"input[name=speed][value='{times}']").check()


def test_press_and_hold_lights_and_letting_go_makes_dark(
    serve: Callable[..., Any], look: Callable[..., Any]
) -> None:
    """By mouse; the first cause and the next step are told in words where a part breaks."""
    served = serve()
    page = look(served)
    _speed(page, 10)
    page.locator("#trigger").hover()
    page.mouse.down()
    _mode(page, "run")
    assert page.locator("#trigger-said").text_content() == "pressed"
    page.mouse.up()
    _mode(page, "dark")
    assert page.locator("#hint").text_content() == "press the trigger"


def test_by_keyboard_alone_a_part_is_broken_the_cause_is_told_and_it_is_mended(
    serve: Callable[..., Any], look: Callable[..., Any]
) -> None:
    served = serve()
    page = look(served)
    _speed(page, 10)
    page.locator("#trigger-keep").focus()
    page.keyboard.press(" ")
    page.locator("#trigger").focus()
    page.keyboard.press("Enter")  # kept pressed though the key was let go
    _mode(page, "run")
    page.locator("#find").focus()
    page.keyboard.type("diode-short")
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "diode-short"
    page.keyboard.press("Enter")
    _mode(page, "fault")
    assert page.locator("#cause").text_content().startswith("First cause: short: ")
    assert "interlock" in page.locator("#hint").text_content()
    page.get_by_role("button", name="Mend diode-short").press("Enter")
    page.locator("#broken", has_text="nothing").wait_for()
    page.keyboard.press("Escape")
    page.locator("#trigger-said", has_text="released").wait_for()
    interlock = page.get_by_role("switch", name="Interlock")
    interlock.press(" ")
    page.get_by_role("switch", name="Interlock: open").wait_for()
    opened = served.source.run.now
    while served.source.run.now < opened + 100:  # the law must see it open
        page.wait_for_timeout(50)
    interlock.press(" ")
    _mode(page, "dark")


def test_sliders_move_air_and_pack(serve: Callable[..., Any], look: Callable[..., Any]) -> None:
    served = serve()
    page = look(served)
    for name, keys, target, step in (
        ("ambient", 5, "plant.ambient_degC", 1.0),
        ("charge", 30, "true.soc", 0.01),
    ):
        slider = page.locator(f"[data-slider={name}]")
        before = served.source.run.machine.peek(target)
        slider.focus()
        for _ in range(keys):
            page.keyboard.press("ArrowLeft")
        until = time.monotonic() + 20
        moved = 0.0
        while abs(moved - keys * step) > 0.6 * step and time.monotonic() < until:
            page.wait_for_timeout(100)
            moved = before - served.source.run.machine.peek(target)
        assert moved == pytest.approx(keys * step, abs=0.6 * step), name
        assert page.evaluate("document.activeElement.getAttribute('aria-valuetext')")[-1] in "C%"


def test_pause_step_scrub_back_and_go_on_otherwise(
    serve: Callable[..., Any], look: Callable[..., Any]
) -> None:
    served = serve()
    page = look(served)
    page.locator("#trigger").focus()
    page.keyboard.down(" ")
    page.wait_for_timeout(700)
    page.keyboard.up(" ")
    page.get_by_role("button", name="Pause").click()
    page.locator("#pause", has_text="Go on").wait_for()
    page.wait_for_timeout(150)
    run = served.source.run
    stood = run.now
    page.get_by_role("button", name="Step 1 ms").click()
    page.locator("#now", has_text=f"{(stood + 1) / 1000:.3f} s").wait_for()
    seek = page.locator("#seek")
    seek.focus()
    page.keyboard.press("Home")
    page.locator("#now", has_text="0.000 s").wait_for()
    assert (run.now, run.end) == (0, stood + 1)
    page.wait_for_timeout(700)
    page.keyboard.press("End")
    page.locator("#seek-said", has_text="at the end").wait_for()
    page.wait_for_timeout(700)
    page.keyboard.press("Home")
    page.locator("#now", has_text="0.000 s").wait_for()
    page.get_by_role("switch", name="Key").click()
    page.get_by_role("button", name="Step 100 ms").click()
    page.locator("#hint", has_text="turn the key on").wait_for()
    assert [act.what for act in run.hands.acts] == ["key"]


def test_what_is_kept_replays_to_the_same_bits_and_the_trace_is_read_again(
    serve: Callable[..., Any], look: Callable[..., Any], tmp_path: Path
) -> None:
    served = serve()
    page = look(served)
    _speed(page, 100)
    page.locator("#trigger-keep").check()
    page.locator("#trigger").focus()
    page.keyboard.press("Enter")
    _mode(page, "run")
    page.get_by_role("button", name="Pause").click()
    page.locator("#pause", has_text="Go on").wait_for()
    for link in ("npz", "csv", "run"):
        with page.expect_download() as saved:
            page.locator(f"#keep-{link}").click()
        saved.value.save_as(tmp_path / saved.value.suggested_filename)
    run = served.source.run
    kept = msgspec.json.decode((tmp_path / "run.json").read_bytes(), type=Kept)
    assert kept.end == run.now
    assert again(run.build, run.engine, kept).now == run.now
    trace = Trace.load_npz(tmp_path / "trace.npz")
    assert trace["diode_A"].max() > 1.4
    assert (tmp_path / "trace.csv").read_text().startswith("# {")


def test_a_page_that_goes_away_lets_the_trigger_go(
    serve: Callable[..., Any], look: Callable[..., Any]
) -> None:
    served = serve()
    page, other = look(served), look(served)
    page.locator("#trigger-keep").check()
    page.locator("#trigger").focus()
    page.keyboard.press("Enter")
    other.locator("#trigger-said", has_text="pressed").wait_for()
    page.close()
    other.locator("#trigger-said", has_text="released").wait_for()


def test_a_server_that_is_gone_is_told_and_nothing_can_be_pressed(
    serve: Callable[..., Any], look: Callable[..., Any]
) -> None:
    served = serve()
    page = look(served)
    served.stop()
    page.locator("#link", has_text="no connection").wait_for()
    assert page.locator("#trigger").is_disabled()
    assert page.locator("#mode").text_content() == "no link"
    page.troubles = [said for said in page.troubles if "ERR_CONNECTION_REFUSED" not in said]
