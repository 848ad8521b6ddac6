"""Numbers as people read them: with their unit, and never rounded across a limit."""

import math

__all__ = [
    "against",
    "dark_after",
    "label",
    "left",
    "number",
    "prose",
    "quantity",
    "text_bar",
    "unit_text",
]

_UNITS = {
    "degC": "°C",
    "ohm": "Ω",
    "mohm": "mΩ",
    "kohm": "kΩ",
    "uH": "µH",
    "uF": "µF",
    "us": "µs",
    "mm2": "mm²",
    "A2s": "A²s",
}
_PROSE = {
    " degC": " °C",
    "W/m2": "W/m²",
    "W/(m2 sr)": "W/(m² sr)",
    " mm2": " mm²",
    " x ": " \N{MULTIPLICATION SIGN} ",
}
_BAR_STEPS = 10
_MOST_DIGITS = 9
#: Above this many milliseconds a time reads better in seconds.
_SECONDS_FROM_MS = 10_000


def unit_text(unit: str) -> str:
    """Return a unit as it is printed: ``degC`` is °C, ``mohm`` is mΩ."""
    return _UNITS.get(unit, unit)


def number(value: float | None, digits: int = 3) -> str:
    """Return `value` with `digits` significant digits, whole above that; None is "never"."""
    if value is None:
        return "never"
    text = f"{value:.{digits}g}"
    return f"{value:.0f}" if "e+" in text else text


def quantity(value: float | None, unit: str, digits: int = 3) -> str:
    """Return number and unit; "never" where there is none."""
    if value is None:
        return number(value)
    return f"{number(value, digits)} {unit_text(unit)}".rstrip()


def against(value: float | None, limit: float, unit: str, sense: str) -> str:
    """Return value and limit in words, with digits enough to tell them apart."""
    bound = "at least" if sense == "at_least" else "at most"
    limit_text = f"{limit:.6g}"
    if value is None:
        return f"not judged, {bound} {limit_text} {unit_text(unit)}".rstrip()
    digits = 4
    while digits < _MOST_DIGITS and value != limit and number(value, digits) == limit_text:
        digits += 1
    return f"{quantity(value, unit, digits)}, {bound} {limit_text}"


def left(margin: float | None) -> str:
    """Return a margin (part of the limit) in per cent; a small one is never shown as none."""
    if margin is None:
        return "no margin"
    percent = 100 * margin
    if percent == 0:
        return "0 % left"
    if abs(percent) < 0.1:
        return "under 0.1 % left" if percent > 0 else "under 0.1 % beyond"
    return f"{percent:.1f} % left" if percent > 0 else f"{-percent:.1f} % beyond"


def text_bar(margin: float | None) -> str:
    """Return a margin as ten marks, one filled for each begun tenth of the limit that is left."""
    if margin is None:
        return ""
    filled = min(max(math.ceil(_BAR_STEPS * margin), 0), _BAR_STEPS)
    return "█" * filled + "░" * (_BAR_STEPS - filled)


def prose(text: str) -> str:
    """Return a sentence with its units as they are printed."""
    for plain, printed in _PROSE.items():
        text = text.replace(plain, printed)
    return text


def label(name: str) -> str:
    """Return a key that ends in its unit as words: ``pack_current_A`` is "pack current"."""
    return name.rpartition("_")[0].replace("_", " ")


def dark_after(time_to_dark_ms: float | None) -> str:
    """Return in words how long after the fault it was dark [ms]."""
    if time_to_dark_ms is None:
        return "lit until release"
    if time_to_dark_ms == 0:
        return "dark at once"
    if time_to_dark_ms >= _SECONDS_FROM_MS:
        return f"dark after {number(time_to_dark_ms / 1000)} s"
    return f"dark after {number(time_to_dark_ms)} ms"
