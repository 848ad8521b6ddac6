"""What was meant by a name that the table does not know.

In this order: another case of a known key, a missing unit, a wrong unit (with the value
converted), a key of another section, a word that people use for a key, a near name.
"""

import difflib
from collections.abc import Iterable
from dataclasses import dataclass

from diodewright.build.keys import Key
from diodewright.build.problems import show
from diodewright.build.units import UNITS, Unit, convert, split

__all__ = ["SECTION_WORDS", "WORDS", "Guess", "nearest", "unknown_key", "unknown_section"]

#: Words that people use -> the key that says it here.
WORDS: dict[str, str] = {
    "absolute_max": "diode.absolute_A",
    "ambient": "heat.ambient_degC",
    "battery_voltage": "pack.series",
    "beam_diameter": "enclosure.beam_mm",
    "cell_count": "pack.series",
    "cell_type": "pack.chemistry",
    "cells": "pack.series",
    "current": "levels.full_A",
    "drive_current": "levels.full_A",
    "esr": "pack.cell_resistance_mohm",
    "forward_voltage": "diode.forward_points_A_V",
    "heatsink": "heat.sink_air_K_W",
    "internal_resistance": "pack.cell_resistance_mohm",
    "light_power": "diode.light_points_A_W",
    "max_current": "diode.absolute_A",
    "operating_current": "levels.full_A",
    "rth": "heat.junction_mount_K_W",
    "saturation_current": "diode.forward_points_A_V",
    "sense_resistor": "sensors.monitor_shunt_mohm",
    "series_resistance": "diode.forward_points_A_V",
    "set_current": "levels.full_A",
    "slope_efficiency": "diode.light_points_A_W",
    "threshold": "diode.light_points_A_W",
    "vf": "diode.forward_points_A_V",
}

SECTION_WORDS: dict[str, str] = {
    "battery": "pack",
    "buck": "stage",
    "cells": "pack",
    "driver": "stage",
    "heatsink": "heat",
    "housing": "enclosure",
    "interlock": "controls",
    "laser": "diode",
    "led": "diode",
    "mosfet": "cutoffs",
    "ntc": "sensors",
    "protection": "limits",
    "source": "pack",
    "thermal": "heat",
    "trigger": "switch",
}


def nearest(name: str, known: Iterable[str], cutoff: float = 0.7) -> str | None:
    """Return the known name most like `name`, or None if none is."""
    near = difflib.get_close_matches(name, list(known), n=1, cutoff=cutoff)
    return near[0] if near else None


def unknown_section(name: str, known: Iterable[str]) -> str:
    """Return what to write instead of an unknown section."""
    sections = list(known)
    near = nearest(name.lower(), sections) or SECTION_WORDS.get(
        nearest(name.lower(), SECTION_WORDS, 0.8) or ""
    )
    return f"did you mean [{near}]?" if near else "sections: " + ", ".join(sections)


@dataclass(frozen=True)
class Guess:
    """What was meant: what is wrong with the name, how to mend it, which keys are meant."""

    wrong: str
    mend: str
    meant: tuple[str, ...] = ()


def unknown_key(section: str, name: str, raw: object, keys: tuple[Key, ...]) -> Guess:
    """Return what was meant by a key that `section` does not have."""
    own = [key for key in keys if key.section == section and key.kind != "levels"]
    others = [key for key in keys if key.section != section and key.kind != "levels"]
    named = any(key.section == section and key.kind == "levels" for key in keys)
    stem, unit = split(name)
    return (
        _other_case(name, own, raw)
        or _unit_of(own, name, stem, unit, raw, related=True)
        or (_level(stem, unit, raw) if named else None)
        or _elsewhere(name, others)
        or _word(name, stem, 1.0)
        or _part_of_name(own, stem, unit, raw, section)
        or _unit_of(own, name, stem, unit, raw, related=False)
        or _near(name, own, section)
        or _word(name, stem, 0.8)
        or _part_of_name(others, stem, unit, raw, section)
        or _near(name, others, section)
        or Guess("no such key", f"keys of [{section}]: " + ", ".join(key.name for key in own))
    )


def _did_you_mean(keys: list[Key], section: str) -> Guess:
    shown = [key.name if key.section == section else key.path for key in keys]
    return Guess(
        "no such key", f"did you mean {' or '.join(shown)}?", tuple(key.path for key in keys)
    )


def _other_case(name: str, own: list[Key], raw: object) -> Guess | None:
    for key in own:
        if key.name.lower() == name.lower():
            return Guess("no such key", f"write {key.name} = {show(raw)}", (key.path,))
    return None


def _rewritten(name: str, wanted: Unit, unit: Unit | None, raw: object) -> tuple[str, str] | None:
    """Return what is wrong and the mend where only the unit of `name` is missing or wrong."""
    if unit is None:
        return "unit missing", f"write {name} = {show(raw)}"
    if unit.suffix == wanted.suffix:
        return None
    if isinstance(raw, (int, float)) and not isinstance(raw, bool):
        try:
            value = convert(float(raw), unit, wanted)
        except OverflowError:
            value = None
        if value is not None:
            return "wrong unit", f"write {name} = {value:.12g}"
    return "wrong unit", f"write {name}, in {wanted.text}"


def _unit_of(
    own: list[Key], name: str, stem: str, unit: Unit | None, raw: object, *, related: bool
) -> Guess | None:
    """Find the key of that stem; `related`: whose unit is of the same quantity, or missing."""
    for key in own:
        known, wanted = split(key.name)
        if wanted is None or known not in (name, stem):
            continue
        given = None if known == name else unit
        if related and given is not None and given.quantity != wanted.quantity:
            continue
        found = _rewritten(key.name, wanted, given, raw)
        if found:
            return Guess(*found, (key.path,))
    return None


def _level(stem: str, unit: Unit | None, raw: object) -> Guess | None:
    """Levels have names of the user's own; only their unit can be wrong."""
    found = _rewritten(f"{stem}_A", UNITS["A"], unit, raw)
    return Guess(*found, (f"levels.{stem}_A",)) if found else None


def _elsewhere(name: str, others: list[Key]) -> Guess | None:
    homes = [key for key in others if key.name == name]
    if not homes:
        return None
    places = " or ".join(f"[{key.section}]" if key.section else "the top" for key in homes)
    meant = tuple(key.path for key in homes)
    return Guess("not a key of this section", f"it belongs in {places}", meant)


def _word(name: str, stem: str, cutoff: float) -> Guess | None:
    for tried in (name.lower(), stem.lower()):
        found = tried if tried in WORDS else None
        if found is None and cutoff < 1:
            found = nearest(tried, WORDS, cutoff)
        if found:
            return Guess("no such key", f"did you mean {WORDS[found]}?", (WORDS[found],))
    return None


def _quantity(key: Key) -> str:
    unit = split(key.name)[1]
    return unit.quantity if unit else ""


def _part_of_name(
    keys: list[Key], stem: str, unit: Unit | None, raw: object, section: str
) -> Guess | None:
    """Find the few keys whose names hold all words of the unknown one (``trip``)."""
    words = set(stem.lower().split("_"))
    hits = [key for key in keys if words <= set(split(key.name)[0].lower().split("_"))]
    if unit is not None:
        # a unit that was given tells more than a word
        hits = [key for key in hits if _quantity(key) == unit.quantity]
    if not 1 <= len(hits) <= 3:
        return None
    wanted = split(hits[0].name)[1]
    if len(hits) == 1 and wanted is not None:
        name = hits[0].name if hits[0].section == section else hits[0].path
        found = _rewritten(name, wanted, unit, raw)
        if found:
            return Guess(*found, (hits[0].path,))
    return _did_you_mean(hits, section)


def _near(name: str, keys: list[Key], section: str) -> Guess | None:
    near = nearest(name, {key.name for key in keys}, 0.75)
    if near is None:
        return None
    return _did_you_mean([key for key in keys if key.name == near], section)
