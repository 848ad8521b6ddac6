"""What a board that is watched says, in a builder's words."""

from collections.abc import Mapping

from diodedriver import words
from diodewright.bench.outlook import Prospect
from diodewright.bench.record import Heard
from diodewright.bench.watch import Cause, Watch

__all__ = [
    "NO_LINE",
    "STATES",
    "bound_words",
    "cause_lines",
    "mode_words",
    "prospect_words",
    "span",
]

NO_LINE = (
    "the light is the board's own business now: it goes on under its own law; trigger, key and "
    "interlock rule it, this screen can't"
)
#: What a board says in place of a mode, and what the law's modes mean to a hand.
STATES: Mapping[str, str] = {
    "barred": "no light until the next boot",
    "testing": "the self-test runs; it waits for key and interlock closed, trigger released",
    **dict(words.MODES),
}
_BOUNDS: Mapping[str, str] = {
    "level": "nothing binds but the level asked for",
    "mount": "the mount's heat binds",
    "junction": "the junction's heat binds",
    "budget": "the heat budget binds",
    "pack": "the pack's charge binds",
    "headroom": "too little headroom binds: pack too near output",
}
#: What brings cutback or lockout.
_BY: Mapping[str, str] = {
    "mount": "mount's heat",
    "junction": "junction's heat",
    "budget": "heat budget",
    "pack": "pack's charge",
    "headroom": "headroom",
    "load": "pack's voltage under load",
}
_READINGS = {row[0]: row[1] for row in words.READINGS}
_LIMITS = {row[0]: row[1] for row in words.SETTINGS}
#: Rows whose limit is a window or a difference: which end was passed the reading shows.
_NO_LIMIT = {"heat", "sensor", "indicator", "follow"}


def span(seconds: float) -> str:
    """Return a time as people say it, to about two digits: ``40 s``, ``4 min``, ``2 h 10 min``."""
    if seconds < 90:
        return f"{5 * round(seconds / 5) if seconds >= 10 else round(seconds)} s"
    minutes = round(seconds / 60)
    if minutes < 60:
        return f"{minutes} min"
    hours, rest = divmod(10 * round(minutes / 10), 60)
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def prospect_words(prospect: Prospect) -> str:
    """Return when something comes; "-" where that can't be said."""
    by = f", by the {_BY[prospect.by]}" if prospect.by else ""
    earliest_s, about_s, latest_s = prospect.earliest_s, prospect.about_s, prospect.latest_s
    if prospect.kind == "now":
        return f"now{by}"
    if prospect.kind == "not soon":
        return "not soon"
    if earliest_s is None:
        return "-"
    if about_s is None or latest_s is None:
        return f"not before {span(earliest_s)}{by}"
    low, middle, high = span(earliest_s), span(about_s), span(latest_s)
    between = f" ({low} to {high})" if low != high else ""
    return f"in about {middle}{between}{by}"


def mode_words(watch: Watch) -> list[str]:
    """Return mode and meaning, and in the dark each reason for it."""
    seen = watch.seen
    if seen is None:
        return [watch.lost or "nothing heard yet"]
    lines = [f"{seen.mode}: {STATES[seen.mode]}"]
    if watch.barred:
        lines.append(f"barred by {watch.barred}")
    why = _dark_because(watch, seen)
    if why:
        lines.append(f"because: {', '.join(why)}")
    return lines


def _dark_because(watch: Watch, seen: Heard) -> list[str]:
    hard = seen.words.get("hard", 0)
    why = [text for bit, text in enumerate(words.HARD) if hard >> bit & 1]
    if seen.mode == "dark" and watch.gate is False:
        why.append("OUTPut is off: no press lights until it restarts or a program sets it")
    if seen.mode == "dark" and watch.held:
        why.append("held behind an unclean end until the pack has rested above re-arm")
    return why


def bound_words(seen: Heard) -> str:
    """Return which cap is the least."""
    return _BOUNDS[words.BOUNDS[seen.words["bound"]]]


def _amount(value: int, unit: str) -> str:
    """Return a word's value in the unit that people read."""
    if unit == "cK":
        return f"{(value - 27_315) / 100:.2f} °C"
    scaled = {"mA": ("A", 3), "mV": ("V", 3), "uA": ("mA", 3)}
    if unit in scaled:
        return f"{value / 1000:.{scaled[unit][1]}f} {scaled[unit][0]}"
    return f"{value} ms" if unit == "tick" else str(value)


def cause_lines(seen: Heard, cause: Cause | None) -> list[str]:
    """Return the first cause with what was read, and what the hand must do; "none" for none."""
    faults = seen.words.get("faults", 0)
    if not faults:
        return ["none"]
    if cause is None:
        return [f"latched: {', '.join(_rows(faults))}"]
    name, rule, judged, limit, condition = words.FAULTS[cause.row]
    text = f"{name}: {condition}"
    if judged != "pins":
        text += f"; read {_amount(cause.reading, _READINGS[judged])}"
        if name not in _NO_LIMIT:
            text += f", limit {_amount(cause.limit, _LIMITS[limit])}"
    lines = [text, f"next: {dict(words.RULES)[rule]}"]
    others = [row for row in _rows(faults) if row != name]
    if others:
        lines.append(f"latched too: {', '.join(others)}")
    return lines


def _rows(bits: int) -> list[str]:
    return [row[0] for place, row in enumerate(words.FAULTS) if bits >> place & 1]
