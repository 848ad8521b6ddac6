"""What a mutant is held against: the desk's claims, and the tour that the law itself takes."""

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from importlib import import_module
from io import BytesIO
from itertools import product
from operator import le

import replay
import tour
from diodedriver import law, words

CLAIMS = ("limits", "table", "edges", "gate", "start", "faults", "caps")
_SIZE = len(words.LIMITS)
Claim = tuple[str, Callable[[], None]]


def _cases(test: Callable[..., None]) -> Iterator[dict[str, object]]:
    """Yield the arguments of each case that pytest would run of `test`."""
    axes = []
    for mark in getattr(test, "pytestmark", ()):
        names, values = mark.args
        split = [name.strip() for name in names.split(",")] if isinstance(names, str) else names
        axes.append(
            [
                dict(zip(split, value if len(split) > 1 else (value,), strict=True))
                for value in values
            ]
        )
    for choice in product(*axes):
        yield {name: value for part in choice for name, value in part.items()}


@cache
def timed_claims() -> list[tuple[float, Claim]]:
    """Return the desk's claims as calls, with their CPU time [s].

    Those about limits and the table come first, then the quickest.
    """
    found = []
    for module in CLAIMS:
        for name, test in vars(import_module(f"test_law_{module}")).items():
            # of the table, all cases run through the compiled law, which no mutant is in
            if name.startswith("test_") and not (module == "table" and "sample" not in name):
                for case in _cases(test):
                    call = lambda test=test, case=case: test(**case)  # noqa: E731
                    begin = time.process_time()
                    with quick_guard():
                        call()
                    claim = (f"{module}.{name} {case}", call)
                    found.append((time.process_time() - begin, claim))
    ahead = ("limits", "table")
    return sorted(found, key=lambda each: (not each[1][0].startswith(ahead), each[0]))


def failing(order: list[Claim]) -> int | None:
    """Return the place of the first claim that fails, None where all hold."""
    for place, (_, call) in enumerate(order):
        try:
            call()
        except Exception:  # noqa: BLE001 - whatever a mutant raises, it did not go unseen
            return place
    return None


@cache
def _whole_tour() -> tuple[bytes, list[bytes]]:
    states: list[bytes] = []
    recording = tour.tour().as_bytes()
    replay.replay(law.tick, BytesIO(recording), lambda state: states.append(state.tobytes()))
    return recording, states


def tour_differs() -> bool:
    """Return whether any state word differs from the law's own, at any tick of the tour."""
    recording, states = _whole_tour()
    expected = iter(states)

    def compare(state) -> None:
        if state.tobytes() != next(expected):
            raise AssertionError

    try:
        replay.replay(law.tick, BytesIO(recording), compare)
    except Exception:  # noqa: BLE001 - as above
        return True
    return False


@contextmanager
def quick_guard() -> Iterator[None]:
    """Pass sound limits and states by quicker means; leave all others to the guard itself.

    Every 16th of the sound ones too, so that a mutant of the guard is seen there.
    """
    guard = law.guard
    sound: dict[bytes, list[int]] = {}
    calls = 0

    def quick(state, limits, readings) -> int:
        nonlocal calls
        calls += 1
        ceilings = sound.get(held := limits.tobytes())
        if ceilings is None:
            ones = (limits[i] ^ limits[_SIZE + i] == words.ONES for i in range(_SIZE))
            if not all(ones):
                return guard(state, limits, readings)
            ceilings = sound[held] = list(limits[_SIZE - len(state) : _SIZE])
        kept = readings[2:12]
        if (
            min(state) < 0
            or min(kept) < 0
            or kept[0] > 20000
            or max(kept[1:5]) > 60000
            or max(kept[5:]) > 65535
            or not all(map(le, state, ceilings))
            or calls % 16 == 0
        ):
            return guard(state, limits, readings)
        return 0

    law.guard = quick
    try:
        yield
    finally:
        law.guard = guard
