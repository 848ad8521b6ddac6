"""What a mutant is held against: the desk's claims, and quicker means that leave them as sharp."""

import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from importlib import import_module
from itertools import product
from operator import le

import desk
from diodedriver import law, words

CLAIMS = ("limits", "steps", "table", "edges", "gate", "start", "faults", "caps")
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
def claims() -> dict[str, Callable[[], None]]:
    """Return the desk's claims as calls, by name."""
    found = {}
    for module in CLAIMS:
        for name, test in vars(import_module(f"test_law_{module}")).items():
            # of the table, all cases run through the compiled law, which no mutant is in
            if name.startswith("test_") and not (module == "table" and "sample" not in name):
                for case in _cases(test):
                    found[f"{module}.{name} {case}"] = lambda test=test, case=case: test(**case)
    return found


@cache
def times_s() -> dict[str, float]:
    """Return the CPU time [s] of each claim on the law itself, of which all hold."""
    found = {}
    with quick_guard(), quick_lit():
        for call in claims().values():  # what is made once is made before the clock runs
            call()
        for name, call in claims().items():
            begin = time.process_time()
            call()
            found[name] = time.process_time() - begin
    return found


class Order:
    """In which order claims are asked: by what they killed in this function for their time."""

    def __init__(self) -> None:
        self.killed: Counter[tuple[str, str]] = Counter()

    def of(self, function: str, longest_s: float) -> list[Claim]:
        """Return the claims for a mutant of `function`, none that takes longer than that."""

        def cost(name: str) -> float:
            seen = self.killed[function, name] + 0.05 * self.killed["", name] + 0.01
            return (times_s()[name] + 1e-4) / seen

        named = sorted((name for name in claims() if times_s()[name] <= longest_s), key=cost)
        return [(name, claims()[name]) for name in named]

    def learn(self, function: str, name: str) -> None:
        """Note that `name` killed a mutant of `function`."""
        self.killed[function, name] += 1
        self.killed["", name] += 1


def failing(order: list[Claim]) -> str | None:
    """Return the first claim that fails, None where all hold."""
    for name, call in order:
        try:
            call()
        except Exception:  # noqa: BLE001 - whatever a mutant raises, it did not go unseen
            return name
    return None


@contextmanager
def quick_guard() -> Iterator[None]:
    """Let a tick pass sound limits and states by quicker means; the guard sees all others.

    Every 16th of the sound ones too, so that a mutant of the guard is seen there. Who calls the
    guard itself meets it.
    """
    whole = law.tick.__code__
    sound: dict[bytes, list[int]] = {}
    calls = 0

    def quick(state, limits, readings) -> int:
        nonlocal calls
        calls += 1
        ceilings = sound.get(held := limits.tobytes())
        if ceilings is None:
            ones = (limits[i] ^ limits[_SIZE + i] == words.ONES for i in range(_SIZE))
            if not all(ones):
                return law.guard(state, limits, readings)
            ceilings = sound[held] = list(limits[_SIZE - len(state) : _SIZE])
        kept = readings[2:12]
        if (
            min(state) < 0
            or min(kept) < 0
            or max(kept[:3]) > 20000
            or max(kept[3:5]) > 60000
            or max(kept[5:]) > 65535
            or not all(map(le, state, ceilings))
            or calls % 16 == 0
        ):
            return law.guard(state, limits, readings)
        return 0

    law.quick_guard = quick
    named = ("quick_guard" if name == "guard" else name for name in whole.co_names)
    law.tick.__code__ = whole.replace(co_names=tuple(named))
    try:
        yield
    finally:
        law.tick.__code__ = whole
        del law.quick_guard


@contextmanager
def quick_lit() -> Iterator[None]:
    """Light each kind of desk once: what half of all claims begin with, and always the same."""
    lit = desk.Desk.lit
    seen: dict[object, tuple] = {}

    def quick(self: desk.Desk) -> desk.Desk:
        if self.law_tick is not law.tick:
            return lit(self)
        values = vars(self)
        arrays = ("state", "limits", "readings", "raw")
        plain = {name: held for name, held in values.items() if name not in (*arrays, "law_tick")}
        key = (repr(sorted(plain.items())), *(values[name].tobytes() for name in arrays))
        if key not in seen:
            lit(self)
            seen[key] = (*(values[name][:] for name in arrays), self.channel)
            return self
        for name, held in zip(arrays, seen[key], strict=False):
            values[name][:] = held
        self.channel = seen[key][-1]
        return self.press()

    desk.Desk.lit = quick
    try:
        yield
    finally:
        desk.Desk.lit = lit
