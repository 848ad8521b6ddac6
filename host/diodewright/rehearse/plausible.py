"""What an assumed value may be instead: its plausible other ends, stated in one table.

An end beyond the key's range is not taken: the range's own end on that side stands in its place,
or none where the value stands there already.
"""

import math
from dataclasses import dataclass
from typing import Literal

from diodewright.build import Assumed
from diodewright.build.model import key_of
from diodewright.build.units import split

__all__ = ["PLAUSIBLE", "USUAL", "Spread", "other_ends", "spread_of"]

_PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Spread:
    """How far a value may plausibly be off.

    Attributes
    ----------
    kind : "share" multiplies the value, "shift" adds to it, "value" takes its place.
    low, high : the lower and the higher end, as `kind` says; in the key's own unit.
    source : where the ends are from.
    """

    kind: Literal["share", "shift", "value"]
    low: float
    high: float
    source: str = _PRACTICE


#: Of every number that the table below does not name.
USUAL = Spread("share", 0.7, 1.5)
#: Of every temperature [degC] that the table below does not name.
_DEGREES = Spread("shift", -10.0, 10.0)

#: Key -> its ends. Of points the second column is multiplied.
PLAUSIBLE: dict[str, Spread] = {
    "pack.cell_min_V": Spread("share", 0.9, 1.1),
    "pack.cell_full_V": Spread("share", 0.98, 1.02),
    "stage.overshoot_pct": Spread("value", 0.0, 10.0),
    "diode.forward_points_A_V": Spread("share", 0.95, 1.05),
    "diode.light_points_A_W": Spread("share", 0.8, 1.2),
    "diode.forward_tempco_mV_K": Spread("value", -4.0, -2.0, "the key's own source"),
    "diode.threshold_T0_K": Spread("value", 60.0, 170.0, "the key's own source"),
    "diode.slope_T1_K": Spread("value", 150.0, 300.0, "the key's own source"),
    "diode.wavelength_nm": Spread("shift", -5.0, 5.0),
    "sensors.reference_V": Spread("value", 2.5, 3.3, "usual references of a 3.3 V controller"),
    "sensors.ntc_tolerance_degC": Spread("share", 0.5, 2.0),
    "sensors.ntc_25_kohm": Spread("share", 0.95, 1.05),
    "sensors.ntc_beta_K": Spread("share", 0.97, 1.03),
    "sensors.ntc_sh_a_1_K": Spread("share", 0.99, 1.01),
    "sensors.ntc_sh_b_1_K": Spread("share", 0.99, 1.01),
    "sensors.ntc_sh_c_1_K": Spread("share", 0.9, 1.1),
}


def spread_of(key: str) -> Spread:
    """Return the spread of ``section.name``."""
    unit = split(key.rpartition(".")[2])[1]
    usual = _DEGREES if unit is not None and unit.suffix == "degC" else USUAL
    return PLAUSIBLE.get(key, usual)


def other_ends(row: Assumed) -> tuple[object, ...]:
    """Return the other values to try for an assumed one; none for a word, a yes or a no."""
    key, spread = key_of(row.key), spread_of(row.key)
    if key is None or isinstance(row.value, bool | str):
        return ()
    if isinstance(row.value, tuple):
        return tuple(
            tuple((x, float(f"{y * share:.12g}")) for x, y in row.value)
            for share in (spread.low, spread.high)
        )
    ends = [_end(row.value, spread, end) for end in (spread.low, spread.high)]
    inside = [min(max(end, key.low), key.high) for end in ends]
    if key.kind == "whole":
        inside = [float(math.floor(inside[0])), float(math.ceil(inside[1]))]
    tried = [int(end) if key.kind == "whole" else end for end in inside]
    return tuple(dict.fromkeys(end for end in tried if end != row.value))


def _end(value: float, spread: Spread, end: float) -> float:
    made = {"share": value * end, "shift": value + end, "value": end}[spread.kind]
    return float(f"{made:.12g}")
