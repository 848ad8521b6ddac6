"""The keys that are tuned: ranges of the build's own table, steps, and how far they go safely.

A key's range in a build file is wide, because it says what may be meant at all. What one build
bears of it is narrower: its rules, what the board refuses, the guard bands and the edges. Those
need no run, so that the ends are found by bisection (`safe_span`); what runs find within is the
business of `evaluate`.

Not a key, because the law has no word for it: the soft-start's shape (3 x^2 - 2 x^3), and the
heat budget, which follows from the mount's trip and the heat path.
"""

import math
import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from diodewright.build import KEYS, Build, Key
from diodewright.build.model import applies, key_of, value_of
from diodewright.build.names import unknown_key
from diodewright.build.plain_file import printable
from diodewright.derive import settings
from diodewright.tune.context import Context
from diodewright.tune.evaluate import evaluate
from diodewright.tune.problems import TuneError

__all__ = [
    "TuneKey",
    "key_named",
    "key_row",
    "now",
    "parsed",
    "rounded",
    "safe_span",
    "taken_span",
    "tune_keys",
]

_NO_STEP = 0.0
_NUMBERS = ("number", "whole")
#: Unit -> the step that a build file would carry: what the law's words resolve, or a hand sets.
_STEPS = {"A": 0.001, "V": 0.01, "degC": 0.1, "%": 0.1, "ms": 1.0, "s": 0.1}
_HALVINGS = 12

Words = Mapping[str, int]


@dataclass(frozen=True)
class TuneKey:
    """One key of one build that may be tuned.

    Attributes
    ----------
    path : ``section.key``.
    low, high : the range that the build's table allows.
    step : what its values are rounded to; 0 for a power of two, as the law takes a trim gain.
    unit, meaning : as the table says them.
    whole : whether it is a count.
    start : what the build has now, given or derived.
    """

    path: str
    low: float
    high: float
    step: float
    unit: str
    meaning: str
    whole: bool
    start: float


def _count(row: str) -> Callable[[Words], float]:
    return lambda words: float(words[f"count_{row}"])


#: A key that is left out -> what the settings then make of it.
_DERIVED: dict[str, Callable[[Words], float]] = {
    "limits.pack_warn_V": lambda words: words["warn_mV"] / 1000,
    "limits.pack_rest_s": lambda words: words["rest_ticks"] / 1000,
    "limits.dim_A": lambda words: words["dim_mA"] / 1000,
    "limits.fall_ms": lambda words: 64.0 * words["top_mA"] / words["fall_q64"],
    "limits.trim_gain": lambda words: 2.0 ** -words["trim_shift"],
    "limits.overcurrent_A": lambda words: words["overcurrent_mA"] / 1000,
    **{
        f"limits.{row}_count": _count(row)
        for row in ("overcurrent", "open", "short", "follow", "sensor")
    },
}


def _rows(build: Build) -> Iterator[tuple[str, Key]]:
    """Yield path and row of each key that is tuned and that this kind of stage has."""
    for key in KEYS:
        if key.kind == "levels" and build.stage.kind != "gated":
            yield from ((f"levels.{name}", key) for name, _ in build.levels.others)
        elif key.section in ("levels", "limits") and key.kind in _NUMBERS and applies(build, key):
            yield key.path, key


def tune_keys(build: Build) -> tuple[TuneKey, ...]:
    """Return the keys of `build` that may be tuned: its levels and all its limits.

    A gated stage has but the times and temperatures: its current is the module's.

    Raises
    ------
    DerivedError
        The build gives a settings word that the board would refuse.
    """
    words = settings(build)
    return tuple(_of(build, path, key, words) for path, key in _rows(build))


def key_row(build: Build, path: str) -> TuneKey:
    """Return any one key of `build` that is a number, tuned or not.

    Raises
    ------
    TuneError
        It is no number, or this build has no such key.
    """
    key = key_of("levels.others") if _is_level(build, path) else key_of(path)
    if key is None or key.kind not in (*_NUMBERS, "levels") or not applies(build, key):
        raise TuneError(f"{path}: is no number of this build")
    return _of(build, path, key, settings(build))


def _of(build: Build, path: str, key: Key, words: Words) -> TuneKey:
    step = _NO_STEP if path == "limits.trim_gain" else _STEPS.get(key.unit, 0.001)
    whole = key.kind == "whole"
    return TuneKey(
        path,
        key.low,
        key.high,
        1.0 if whole else step,
        key.unit,
        key.meaning,
        whole,
        now(build, path, words),
    )


def _is_level(build: Build, path: str) -> bool:
    return path in {f"levels.{name}" for name, _ in build.levels.others}


def now(build: Build, path: str, words: Words) -> float:
    """Return what `build` has at a key of numbers, given or derived.

    Raises
    ------
    TuneError
        It has none.
    """
    value = value_of(build, path)
    if value is None and path in _DERIVED:
        return _DERIVED[path](words)
    if isinstance(value, bool) or not isinstance(value, int | float) or math.isnan(value):
        raise TuneError(f"{path}: this build has no value there to begin from")
    return float(value)


def rounded(key: TuneKey, value: float) -> float | int:
    """Return `value` as a build file would carry it, within the key's range."""
    held = min(max(value, key.low), key.high)
    if key.whole:
        return round(held)
    if key.step == _NO_STEP:
        # the law shifts: 2^-n, the next smaller gain, as `derive.settings` rounds it
        return float(min(max(2.0 ** -math.ceil(-math.log2(held) - 1e-9), key.low), key.high))
    return float(f"{round(held / key.step) * key.step:.9g}")


def key_named(build: Build, name: str, raw: object = 0) -> str:
    """Return the path of a key that a person named, with or without its section.

    Parameters
    ----------
    raw : the value that was given with it: a mend repeats it.

    Raises
    ------
    TuneError
        No such key, or it stands in several sections; with what was most likely meant.
    """
    section, _, bare = name.strip().rpartition(".")
    found = [
        key.path
        for key in KEYS
        if key.name == bare and key.kind != "levels" and section in ("", key.section)
    ]
    if section in ("", "levels") and _is_level(build, f"levels.{bare}"):
        found.append(f"levels.{bare}")
    if len(found) == 1:
        return found[0]
    if found:
        raise TuneError(f"{printable(name)}: stands in several sections: write {_or(found)}")
    guess = unknown_key(section or "limits", bare, raw, KEYS)
    raise TuneError(f"{printable(name)}: {guess.wrong}; {guess.mend}")


def _or(names: list[str]) -> str:
    return " or ".join(names)


def parsed(build: Build, text: str) -> tuple[str, object]:
    """Return key path and value of ``key=value`` as a person types it.

    Raises
    ------
    TuneError
        There is no ``=``, no such key, or no value that a build file could hold.
    """
    name, mark, value = text.partition("=")
    if not mark or not name.strip() or not value.strip():
        raise TuneError(f"{printable(text)}: write KEY=VALUE, such as mount_warm_degC=48")
    try:
        raw = tomllib.loads(f"value = {value}")["value"]
    except tomllib.TOMLDecodeError:
        said = f"{printable(value.strip())}: no value that a build file could hold"
        raise TuneError(f"{printable(name.strip())} = {said}") from None
    return key_named(build, name, raw), raw


def _span(ok: Callable[[float], bool], key: TuneKey) -> tuple[float, float]:
    """Return how far from its start a key goes without leaving what is `ok`."""
    return _end(ok, key, key.low), _end(ok, key, key.high)


def _end(ok: Callable[[float], bool], key: TuneKey, bound: float) -> float:
    """Halve the way from the start to `bound`; at least as far as the start itself.

    On a range of many decades the halves are of the ratio.
    """
    if ok(bound):
        return bound
    good, bad = key.start, bound
    by_ratio = min(good, bad) > 0 and max(good, bad) / min(good, bad) > 20
    for _ in range(_HALVINGS):
        middle = math.sqrt(good * bad) if by_ratio else (good + bad) / 2
        good, bad = (middle, bad) if ok(middle) else (good, middle)
    return good


def taken_span(context: Context, key: TuneKey, given: Mapping[str, object]) -> tuple[float, float]:
    """Return the part of a key's range, about where it is, that build and board take.

    `given` are other keys' values; the part is one piece: what lies behind a gap is not found.
    """
    return _span(lambda value: not _cheap(context, key, given, value)[0], key)


def safe_span(
    context: Context, key: TuneKey, given: Mapping[str, object] | None = None
) -> tuple[float, float]:
    """Return the part of a key's range whose guard bands and edges hold as well.

    Where they do not hold at its start, the start alone.
    """
    return _span(lambda value: _cheap(context, key, given or {}, value)[1], key)


def _cheap(
    context: Context, key: TuneKey, given: Mapping[str, object], value: float
) -> tuple[str, bool]:
    seen = evaluate(context, {**given, key.path: round(value) if key.whole else value}, "bands")
    return seen.refusal, seen.holds
