"""What a part of the catalogue is: a name that stands for values of one section."""

from dataclasses import dataclass

from diodewright.build.keys import Key, Points

__all__ = ["IDENTITY", "Part", "Value", "of_a_part"]

#: Choices that say what a part is: a build file may repeat but not change them.
IDENTITY = ("pack.chemistry", "diode.kind")

#: Keys of a part's section that describe the build, not the part.
_OF_THE_BUILD = {
    "pack.kind",
    "pack.series",
    "pack.parallel",
    "pack.start_charge_pct",
    "pack.wiring_mohm",
    "pack.supply_V",
    "pack.supply_limit_A",
    "cutoffs.a_place",
    "diode.exceed_rating",
    "sensors.ntc_lag_s",
    "sensors.ntc_series_ohm",
    "sensors.ntc_tolerance_degC",
}


@dataclass(frozen=True)
class Value:
    """One value of a part: key (its name ends in the unit), value, source."""

    key: str
    value: float | str | Points
    source: str


@dataclass(frozen=True)
class Part:
    """One generic part, or one of a builder's own.

    Attributes
    ----------
    name : what a build file writes.
    key : the key that takes it (``section.key``); the values belong to the same section.
    meaning : what it is, for people.
    values : what it fills in.
    """

    name: str
    key: str
    meaning: str
    values: tuple[Value, ...]

    def value(self, key: str) -> Value | None:
        """Return the value that it fills in for a key of its section; None: it has none."""
        return next((each for each in self.values if each.key == key), None)


def of_a_part(taker: str, key: Key) -> bool:
    """Return whether parts that `taker` (``cutoffs.a_part``) takes may fill in `key`.

    Where a section has more than parts, the part's keys share the beginning of its taker's name.
    """
    section, _, name = taker.partition(".")
    mine = key.section == section and key.name.startswith(name.removesuffix("part"))
    return mine and key.kind != "part" and key.path not in _OF_THE_BUILD
