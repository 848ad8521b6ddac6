"""The table of contradictions, and how a build is judged by it.

What two or more keys, each in its range, may not say together. A rule is judged wherever all its
keys hold a good value, so that one wrong key hides no other mistake.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from diodewright.build.points import PointsError
from diodewright.build.rule import QUANTITIES, Rule, Values
from diodewright.build.rules_current import CURRENT, HARDWARE, PACK
from diodewright.build.rules_light import BEAM, CURVES, LASER, TEMPERATURES

__all__ = ["RULES", "Broken", "Rule", "broken", "known"]

RULES: tuple[Rule, ...] = (*PACK, *CURRENT, *HARDWARE, *TEMPERATURES, *LASER, *BEAM, *CURVES)

#: The key that a quantity is reported at where it comes first in a rule.
_AT = {
    "levels.highest_A": "levels",
    "stage.module_most_A": "stage.module_tolerance_pct",
    "diode.junction_at_trip_degC": "limits.mount_trip_degC",
}


@dataclass(frozen=True)
class Broken:
    """A rule that a build breaks: at which key (or section of levels), in words."""

    rule: str
    key: str
    wrong: str
    mend: str


def broken(values: Values) -> Iterator[Broken]:
    """Yield each rule that the values break.

    `values` holds path -> value of every good key, and under "levels" key -> current of all
    levels. Keys that are missing, wrong, derived or do not apply are left out of judgement.
    """
    found: dict[str, Any] = {}
    for rule in RULES:
        if not all(known(values, name, found) for name in rule.keys):
            continue
        seen = [found[name] for name in rule.keys]
        try:
            if rule.holds(*seen):
                continue
            wrong = rule.wrong.format(*seen)
        except PointsError as error:
            # said once, by the rule that fits the curve; the others can't be judged
            if not rule.rule.endswith("_fit"):
                continue
            wrong = str(error)
        at = _AT.get(rule.keys[0], rule.keys[0])
        yield Broken(rule.rule, at, wrong, rule.mend.format(*seen))


def known(values: Values, name: str, found: dict[str, Any]) -> bool:
    """Work out one key or quantity into `found`; False where it has no good value."""
    if name in found:
        return True
    quantity = QUANTITIES.get(name)
    if quantity is not None:
        if not all(known(values, need, found) for need in quantity.needs):
            return False
        try:
            found[name] = quantity.follows({need: found[need] for need in quantity.needs})
        except PointsError:
            return False
        return True
    value = values.get(name)
    if value is None or value == () or (isinstance(value, float) and math.isnan(value)):
        return False
    found[name] = value
    return True
