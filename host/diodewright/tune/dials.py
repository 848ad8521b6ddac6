"""The keys that a search moves, and how far each.

A build file's own ranges say what may be meant at all. A search needs ranges that a build could
bear: as far as the build's rules go while the other keys stay, and half as far again, because
keys move together (a later cutback needs a later trip). What lies outside is refused anyhow.
"""

import math
from collections.abc import Sequence

from diodewright.build import Build, rule_rooms
from diodewright.tune.choice import Dial
from diodewright.tune.keys import TuneKey, key_row, tune_keys

__all__ = ["LEFT", "dials_of"]

#: Keys that are not searched, and why.
LEFT = {
    "limits.delay_s": "what a laser's class asks for; it makes no light brighter or safer",
    "limits.pack_warn_V": "a warning, no limit",
    "limits.pack_rest_s": "a rest in the dark moves no figure of a use",
    "limits.open_count": "an open diode is dark already",
    "limits.short_count": "what hardware ends in a microsecond needs no tuned count",
    "limits.follow_count": "the same",
    "limits.sensor_count": "the same",
}
#: Ranges are this much longer than what the rules leave of them.
_FURTHER = 1.5
#: And at least so much to each side: a part of the value, or kelvin.
_LEAST_PART, _LEAST_K = 0.1, 4.0
#: No value moves to more than so many times what it is, or less than that part of it.
_TIMES = 10.0
_HALVINGS = 10


def dials_of(build: Build, also: Sequence[str] = ()) -> tuple[Dial, ...]:
    """Return the dials of `build`: its highest level, its limits, and the keys in `also`.

    Raises
    ------
    TuneError
        A key in `also` is no number of this build.
    DerivedError
        The build gives a settings word that the board would refuse.
    """
    kept = [key for key in tune_keys(build) if _searched(build, key.path)]
    named = {key.path for key in kept}
    kept += [key_row(build, path) for path in dict.fromkeys(also) if path not in named]
    return tuple(_dial(build, key) for key in kept)


def _searched(build: Build, path: str) -> bool:
    if path.startswith("levels."):
        return build.stage.kind != "gated" and path == f"levels.{build.levels.by_current[0][0]}"
    return path not in LEFT


def _dial(build: Build, key: TuneKey) -> Dial:
    if key.step == 0:  # a power of two: the dial is its exponent
        least, most = (-math.log2(value) for value in (key.high, key.low))
        return Dial(
            key.path, math.ceil(least), math.floor(most), 1.0, _exponent(key), "", False, True
        )
    low, high = (_end(build, key, bound) for bound in (key.low, key.high))
    least = _LEAST_K if key.unit == "degC" else max(_LEAST_PART * abs(key.start), key.step)
    low = max(key.low, key.start - max(_FURTHER * (key.start - low), least))
    high = min(key.high, key.start + max(_FURTHER * (high - key.start), least))
    return Dial(key.path, low, high, key.step, key.start, key.unit, key.whole)


def _exponent(key: TuneKey) -> float:
    return float(round(-math.log2(key.start)))


def _end(build: Build, key: TuneKey, bound: float) -> float:
    """Return how far towards `bound` the build's rules let one key go alone."""
    if key.unit != "degC" and key.start > 0:
        bound = min(max(bound, key.start / _TIMES), key.start * _TIMES)
    good, bad = key.start, bound
    if _taken(build, key, bound):
        return bound
    for _ in range(_HALVINGS):
        middle = (good + bad) / 2
        good, bad = (middle, bad) if _taken(build, key, middle) else (good, middle)
    return good


def _taken(build: Build, key: TuneKey, value: float) -> bool:
    given = round(value) if key.whole else value
    return all(room.holds for room in rule_rooms(build, {key.path: given}))
