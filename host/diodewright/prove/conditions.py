"""What each fault row stands for, said once more and independently of the law.

One function a row, over the readings of a tick and the state before it, in the order and meaning
of `words.FAULTS`. The law must raise a row exactly where its condition here holds. A reading is
what the law converted (`view.r`); that those are right is the claim "convert".
"""

from collections.abc import Callable, Mapping

from diodewright.prove import terms
from diodewright.prove.terms import Bool, Int, add, any_of, le, negate, scale, shr, sub
from diodewright.prove.view import MODE, View, above, within

__all__ = ["CONDITIONS", "condition", "count_needed", "watching"]

CHANNELS = ("pack", "reference", "indicator", "mount", "sink")


def watching(view: View) -> Bool:
    """Return whether rows are watched at all: not before every channel could be read at boot."""
    boot = terms.eq(view.s("mode"), MODE["boot"])
    return any_of((negate(boot), above(view.s("mode_ticks"), view.limit("age_ticks"))))


def _regulating(view: View) -> Bool:
    return within(view.s("mode"), MODE["soft_start"], MODE["limited"])


def _asked_mA(view: View) -> Int:
    return shr(view.s("drive"), 6)


def _model_cK(view: View) -> Int:
    return shr(view.then("model"), 10)


def _outside(view: View, reading: str, low: str, high: str) -> Bool:
    value = view.r(reading)
    return any_of((above(view.limit(low), value), above(value, view.limit(high))))


def _latch(view: View) -> Bool:
    armed = within(view.s("mode"), MODE["close"], MODE["limited"])
    return terms.all_of((armed, view.pin("latch")))


def _stuck(view: View) -> Bool:
    current = above(view.r("current_mA"), view.limit("dark_mA"))
    return terms.all_of((negate(view.lit()), current))


def _short(view: View) -> Bool:
    low = above(view.limit("short_mV"), view.r("output_mV"))
    return terms.all_of((_regulating(view), low))


def _open(view: View) -> Bool:
    none = above(_asked_mA(view), scale(view.r("current_mA"), 4))
    high = above(view.r("output_mV"), view.limit("open_mV"))
    return terms.all_of((_regulating(view), any_of((none, high))))


def _follow(view: View) -> Bool:
    asked = _asked_mA(view)
    error = sub(view.r("current_mA"), asked)
    allowed = add(view.limit("follow_mA"), shr(asked, 4))
    far = any_of((above(error, allowed), above(scale(error, -1), allowed)))
    return terms.all_of((_regulating(view), far))


def _heat(view: View) -> Bool:
    model = _model_cK(view)
    difference = sub(view.r("mount_cK"), view.r("sink_cK"))
    judged = above(model, view.limit("model_min_cK"))
    little = terms.all_of((judged, above(model, scale(difference, 3))))
    much = above(difference, add(scale(model, 2), view.limit("model_extra_cK")))
    return any_of((little, much))


def _sensor(view: View) -> Bool:
    return any_of(
        (
            _outside(view, "mount_cK", "sensor_min_cK", "sensor_max_cK"),
            _outside(view, "sink_cK", "sensor_min_cK", "sensor_max_cK"),
            _outside(view, "reference_mV", "reference_min_mV", "reference_max_mV"),
        )
    )


def _stale(view: View) -> Bool:
    return any_of(above(view.r(f"{name}_age"), view.limit("age_ticks")) for name in CHANNELS)


def _indicator(view: View) -> Bool:
    sick = _outside(view, "indicator_uA", "indicator_min_uA", "indicator_max_uA")
    return terms.all_of((view.enabled("indicator", then=False), sick))


def _charged(view: View) -> Bool:
    closing = terms.eq(view.s("mode"), MODE["close"])
    return terms.all_of((closing, le(view.limit("close_ticks"), view.s("mode_ticks"))))


def _beyond(reading: str, limit: str) -> Callable[[View], Bool]:
    return lambda view: above(view.r(reading), view.limit(limit))


def _reached(reading: str, limit: str) -> Callable[[View], Bool]:
    return lambda view: le(view.limit(limit), view.r(reading))


def _short_of(reading: str, limit: str) -> Callable[[View], Bool]:
    return lambda view: above(view.limit(limit), view.r(reading))


#: row -> condition; "settings" and "state" also stand for a broken limit or word: "copy" and
#: "any-state" claim those.
CONDITIONS: Mapping[str, Callable[[View], Bool]] = {
    "settings": lambda view: view.pin("settings_bad"),
    "state": lambda view: False,
    "latch": _latch,
    "overcurrent": _beyond("current_mA", "overcurrent_mA"),
    "stuck": _stuck,
    "short": _short,
    "open": _open,
    "follow": _follow,
    "hot": _reached("lead_cK", "trip_cK"),
    "junction": _reached("junction_cK", "junction_trip_cK"),
    "heat": _heat,
    "sensor": _sensor,
    "stale": _stale,
    "indicator": _indicator,
    "pack_wrong": _beyond("pack_mV", "pack_max_mV"),
    "pack_min": _short_of("pack_mV", "loaded_min_mV"),
    "pack_low": _short_of("rest_mV", "lockout_mV"),
    "late": _beyond("gap_ticks", "late_ticks"),
    "beat": _beyond("beat_ticks", "beat_max_ticks"),
    "charged": _charged,
}


def condition(view: View, row: str) -> Bool:
    """Return whether a row's condition holds in this tick, as far as rows are watched."""
    holds = CONDITIONS[row](view)
    return holds if row == "settings" else terms.all_of((watching(view), holds))


def count_needed(view: View, row: str) -> Int:
    """Return after how many ticks in a row this row latches."""
    return 1 if row in ("settings", "state") else view.limit(f"count_{row}")
