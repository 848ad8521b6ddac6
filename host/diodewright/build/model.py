"""The build: sections as the file nests them, and what was assumed for it."""

from dataclasses import dataclass, field
from typing import Any

from diodewright.build import calibration, control, light, power
from diodewright.build.keys import Key, Points, rows

__all__ = ["KEYS", "SECTIONS", "Assumed", "Build", "applies", "key_of", "value_of"]

#: The sections in the order of the file; a deciding key stands before those it decides about.
SECTIONS: dict[str, type[Any]] = {
    "": power.Heading,
    "pack": power.Pack,
    "stage": power.Stage,
    "cutoffs": power.Cutoffs,
    "comparator": power.Comparator,
    "switch": power.Switch,
    "diode": light.Diode,
    "heat": light.Heat,
    "sensors": control.Sensors,
    "controls": control.Controls,
    "levels": control.Levels,
    "limits": control.Limits,
    "criteria": control.Criteria,
    "enclosure": light.Enclosure,
    "calibration": calibration.Calibration,
}

#: The one table of keys.
KEYS: tuple[Key, ...] = tuple(key for name, of in SECTIONS.items() for key in rows(name, of))

_BY_PATH = {key.path: key for key in KEYS}


def key_of(path: str) -> Key | None:
    """Return the row of ``section.name``; None where the table has none."""
    return _BY_PATH.get(path)


@dataclass(frozen=True)
class Assumed:
    """A value that the user did not give.

    Attributes
    ----------
    key : ``section.name``.
    value : what is taken instead.
    unit : its unit as people write it; "" for a plain number or a word.
    source : where it is from, or the words "no source".
    """

    key: str
    value: float | str | bool | Points
    unit: str
    source: str


@dataclass(frozen=True, kw_only=True)
class Build(power.Heading):
    """One build, complete and free of contradictions.

    Every attribute of a section is named exactly as the key. A value that does not apply to the
    kind of part (a bench supply's capacity) is NaN, or 1 for a whole number; a key that was left
    out and is derived later is None.

    Attributes
    ----------
    assumed : the values that the user did not give, in the order of the table.
    fingerprint : SHA-256 over the values (not over the file), in hexadecimal.
    file : the file or example it was read from.
    """

    pack: power.Pack
    stage: power.Stage
    cutoffs: power.Cutoffs
    comparator: power.Comparator
    switch: power.Switch
    diode: light.Diode
    heat: light.Heat
    sensors: control.Sensors
    controls: control.Controls
    levels: control.Levels
    limits: control.Limits
    criteria: control.Criteria
    enclosure: light.Enclosure
    calibration: calibration.Calibration
    assumed: tuple[Assumed, ...]
    fingerprint: str
    file: str = field(compare=False)


def value_of(build: Build, path: str) -> object:
    """Return the value of ``section.name`` (or of a key at the top)."""
    section, _, name = path.rpartition(".")
    return getattr(getattr(build, section) if section else build, name)


def applies(build: Build, key: Key) -> bool:
    """Return whether the build's kind of part has this key."""
    return key.when is None or value_of(build, key.when[0]) in key.when[1]
