"""In the build that yields: light only from a press, every exit dark, no press meets a write."""

import random

import pytest

from diodewright.twin import Event
from marked import Edits, Marked
from stories import lit, lit_ticks, modes, press, release, until

DARK_A = 0.01


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_light_comes_from_a_press_alone_and_goes_with_its_release(yielding, seed: int) -> None:
    twin = yielding(seed)
    looks = until(twin, "dark") + twin.run(300)
    assert not lit_ticks(looks), "nobody pressed"
    press(twin)
    looks = until(twin, "run", "limited")
    assert modes(looks)[-3:-1] == ["start", "soft_start"]
    release(twin)
    twin.run(10)
    assert not lit_ticks(twin.run(600))
    assert twin.ended_at is None and not twin.resets


@pytest.mark.parametrize("seed", [1, 2])
@pytest.mark.parametrize("name", ["raise", "main_starved", "timer_dead", "reset"])
def test_every_exit_from_light_ends_dark_between_statements_too(
    yielding, name: str, seed: int
) -> None:
    twin = lit(yielding(seed))
    twin.keeps = False
    twin.run(random.Random(seed).randint(1, 60))
    twin.strike(Event(0, f"chip.{name}", 3 if name == "reset" else 1))
    twin.run(210)
    assert not lit_ticks(twin.run(6000)), "the trigger is still held"
    assert [cause for _, cause in twin.resets] == [3], "an end without a reset meets the watchdog"


#: A dark of so many ticks takes the armed marker away, in a copy that need not wait for long.
REST_MS = 200
SOON: Edits = (("run.py", "REST_MS = 10_000", f"REST_MS = {REST_MS}"),)
UNHELD: Edits = (
    ("run.py", "> REST_MS and driver.hold():", "> REST_MS and driver.idle_dark():"),
    ("run.py", "noting(cause) and driver.hold():", "noting(cause) and driver.idle_dark():"),
)


def meets_a_write(twin: Marked, presses: int, seed: int) -> bool:
    """Press around the marker's removal; return whether that ended the program."""
    draw = random.Random(seed)
    twin.keeps = False
    until(twin, "dark")
    removed = 0
    for _ in range(presses):
        press(twin)
        until(twin, "soft_start", "run")
        release(twin)
        twin.run(REST_MS + draw.randint(0, 20))
        press(twin)
        twin.run(25)
        if twin.ended_at is not None:
            return True
        removed += twin.look.mode == "dark"
        release(twin)
        twin.run(20)
    assert removed > presses // 10, "no press came near the removal"
    return False


def test_a_press_that_meets_a_flash_write_waits_for_it(yielding) -> None:
    """Ticks come before every other statement there: a press between look and write is likely."""
    crowded = {"one_in": 2, "only": {"run.py": ("attend",)}}
    assert not meets_a_write(yielding(1, SOON, **crowded), 120, 1)
    ended = []
    for seed in range(1, 6):
        twin = yielding(seed, SOON + UNHELD, **crowded)
        if meets_a_write(twin, 120, seed):
            ended.append(twin.said().decode() + twin.console)
            break
    assert ended and "flash is never written while lit" in ended[0]
