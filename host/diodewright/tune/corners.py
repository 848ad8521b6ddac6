"""Tolerance corners that a choice is tried at: four builds whose parts all stand against it.

`rehearse`'s margins find each quantity's own corner by trying every part alone at both ends. That
is too slow for every choice of a search, and its answer hardly moves with the settings: the signs
are physics. So they stand here as a table, one corner for quantities of one cause. A test holds
each against the corner that the margins find, on every shipped build.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from diodewright.build import Build
from diodewright.derive.tolerances import Tolerance

__all__ = ["CORNERS", "Corner", "draws_at"]


@dataclass(frozen=True)
class Corner:
    """One true build at its worst.

    Attributes
    ----------
    id, meaning : stable name; what stands against the light, in words.
    signs : tolerance -> -1 or +1, the end at which it stands; what is left out is typical.
    linear : what differs with a linear stage, whose pass MOSFET burns what the diode does not.
    asks : criteria that are judged there, in use.
    """

    id: str
    meaning: str
    signs: Mapping[str, int]
    linear: Mapping[str, int]
    asks: tuple[str, ...]


#: More heat of the same current, and a mount that reads cold.
_HEAT = {
    "junction-path": 1,
    "forward-voltage": 1,
    "threshold": 1,
    "threshold-age": 1,
    "slope": -1,
    "light-age": -1,
    "heat-capacity": -1,
    "mount-sensor": -1,
    "ntc-resistor": -1,
    "ntc-curve": -1,
    "adc-offset": 1,
    "adc-reference": -1,
    "monitor-gain": -1,
    "monitor-zero": -1,
    "set-path": 1,
    "own-shunt": 1,
    "module": 1,
    "ambient": 1,
    "sink-air": 1,
}
_CURRENT = {
    "monitor-gain": -1,
    "monitor-zero": -1,
    "adc-reference": 1,
    "adc-offset": -1,
    "set-path": 1,
    "own-shunt": 1,
    "module": 1,
    "inductor": -1,
    "forward-voltage": -1,
    "comparator-trip": 1,
    "comparator-delay": 1,
    "cell-resistance": -1,
    "wiring": -1,
    "ambient": 1,
    "junction-path": 1,
    "pad": 1,
    "slope": -1,
    "light-age": -1,
    "threshold": 1,
    "threshold-age": 1,
    "heat-capacity": -1,
}
_PACK = {
    "cell-resistance": 1,
    "wiring": 1,
    "cell-capacity": -1,
    "pack-divider": 1,
    "adc-offset": 1,
    "adc-reference": -1,
    "rail": -1,
    "forward-voltage": 1,
    "ambient": -1,
    "set-path": 1,
    "own-shunt": 1,
    "module": 1,
    "output-divider": 1,
    "junction-path": -1,
    "indicator": 1,
}

CORNERS: tuple[Corner, ...] = (
    Corner(
        "hot",
        "most heat, worst way from mount to sink, mount read cold, warmest air",
        _HEAT | {"pad": 1},
        {},
        ("junction", "mount"),
    ),
    Corner(
        "hot-sink",
        "most heat, best way from mount to sink, mount read cold, warmest air",
        _HEAT | {"pad": -1},
        {"forward-voltage": -1, "cell-resistance": -1, "wiring": -1},
        ("touch", "pass-channel"),
    ),
    Corner(
        "bright",
        "highest current, monitor read low, smallest inductor, highest and latest comparator",
        _CURRENT,
        {},
        ("diode-current", "cutoff-a-channel", "pack-current"),
    ),
    Corner(
        "drained",
        "cold, aged cells of least capacity, pack read high, highest forward voltage",
        _PACK,
        {"forward-voltage": -1, "ambient": 1, "output-divider": -1, "adc-offset": -1},
        ("pack-voltage", "pack-current"),
    ),
)


def draws_at(corner: Corner, build: Build, rows: tuple[Tolerance, ...]) -> dict[str, float]:
    """Return where each tolerance of `build` stands at `corner`; ends that a row lacks are left."""
    own = corner.linear if build.stage.kind == "linear" else {}
    signs = {**corner.signs, **own}
    return {row.name: float(signs[row.name]) for row in rows if signs.get(row.name) in row.ends}
