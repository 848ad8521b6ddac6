"""Units that end a key's name, and how they convert into each other.

A build file writes no unit beside a number: the key's name carries it, so that nothing is parsed
that could be misread. This table knows the suffixes, tells which belong to one quantity, and by
what factor one is larger than the other. Degrees Celsius and kelvin are told apart but never
converted: the same letters serve for temperatures and for differences.
"""

import math
from dataclasses import dataclass

__all__ = ["UNITS", "Unit", "amount", "convert", "split"]


@dataclass(frozen=True)
class Unit:
    """One suffix of a key's name.

    Attributes
    ----------
    suffix : what ends the name, without the underscore in front of it.
    text : how people write it.
    quantity : what it measures; suffixes of one quantity convert into each other.
    factor : its size in the quantity's own unit; 0 where a factor is not enough.
    """

    suffix: str
    text: str
    quantity: str
    factor: float


_SCALED: tuple[tuple[str, str, tuple[tuple[str, str, float], ...]], ...] = (
    ("current", "A", (("uA", "uA", 1e-6), ("mA", "mA", 1e-3), ("A", "A", 1.0))),
    ("voltage", "V", (("uV", "uV", 1e-6), ("mV", "mV", 1e-3), ("V", "V", 1.0))),
    ("charge", "Ah", (("mAh", "mAh", 1e-3), ("Ah", "Ah", 1.0))),
    (
        "resistance",
        "ohm",
        (("mohm", "mohm", 1e-3), ("ohm", "ohm", 1.0), ("kohm", "kohm", 1e3), ("Mohm", "Mohm", 1e6)),
    ),
    (
        "time",
        "s",
        (
            ("ns", "ns", 1e-9),
            ("us", "us", 1e-6),
            ("ms", "ms", 1e-3),
            ("s", "s", 1.0),
            ("h", "h", 3600.0),
        ),
    ),
    ("power", "W", (("uW", "uW", 1e-6), ("mW", "mW", 1e-3), ("W", "W", 1.0))),
    (
        "inductance",
        "H",
        (("nH", "nH", 1e-9), ("uH", "uH", 1e-6), ("mH", "mH", 1e-3), ("H", "H", 1.0)),
    ),
    (
        "capacitance",
        "F",
        (
            ("pF", "pF", 1e-12),
            ("nF", "nF", 1e-9),
            ("uF", "uF", 1e-6),
            ("mF", "mF", 1e-3),
            ("F", "F", 1.0),
        ),
    ),
    ("frequency", "Hz", (("Hz", "Hz", 1.0), ("kHz", "kHz", 1e3), ("MHz", "MHz", 1e6))),
    (
        "length",
        "m",
        (
            ("nm", "nm", 1e-9),
            ("um", "um", 1e-6),
            ("mm", "mm", 1e-3),
            ("cm", "cm", 1e-2),
            ("m", "m", 1.0),
        ),
    ),
    ("area", "m2", (("mm2", "mm2", 1e-6), ("cm2", "cm2", 1e-4))),
    (
        "angle",
        "rad",
        (
            ("urad", "urad", 1e-6),
            ("mrad", "mrad", 1e-3),
            ("rad", "rad", 1.0),
            ("deg", "deg", math.pi / 180),
        ),
    ),
    ("share", "", (("pct", "%", 0.01), ("permille", "permille", 1e-3))),
    ("voltage per kelvin", "V/K", (("mV_K", "mV/K", 1e-3), ("V_K", "V/K", 1.0))),
    (
        "share per kelvin",
        "1/K",
        (("pct_K", "%/K", 0.01), ("1_K", "1/K", 1.0), ("ppm_K", "ppm/K", 1e-6)),
    ),
    ("voltage per ampere", "V/A", (("mV_A", "mV/A", 1e-3), ("V_A", "V/A", 1.0))),
    (
        "thermal resistance",
        "K/W",
        (("mK_W", "mK/W", 1e-3), ("K_W", "K/W", 1.0), ("degC_W", "degC/W", 1.0)),
    ),
    (
        "heat capacity",
        "J/K",
        (("mJ_K", "mJ/K", 1e-3), ("J_K", "J/K", 1.0), ("J_degC", "J/degC", 1.0)),
    ),
    ("noise", "codes", (("codes", "codes", 1.0),)),
    (
        "current, voltage",
        "A, V",
        (("mA_V", "mA, V", 0.0), ("mA_mV", "mA, mV", 0.0), ("A_V", "A, V", 1.0)),
    ),
    (
        "current, power",
        "A, W",
        (("mA_W", "mA, W", 0.0), ("mA_mW", "mA, mW", 0.0), ("A_W", "A, W", 1.0)),
    ),
    ("temperature", "degC", (("degC", "degC", 0.0), ("degF", "degF", 0.0), ("K", "K", 0.0))),
)

#: Every known suffix.
UNITS: dict[str, Unit] = {
    suffix: Unit(suffix, text, quantity, factor)
    for quantity, _, rows in _SCALED
    for suffix, text, factor in rows
}


def split(name: str) -> tuple[str, Unit | None]:
    """Return the stem of a key's name and the unit that ends it (None: it ends in no unit).

    The longest suffix wins: ``junction_mount_K_W`` ends in ``K_W``, not in ``W``.
    """
    tokens = name.split("_")
    for count in (2, 1):
        unit = UNITS.get("_".join(tokens[-count:]))
        if unit is not None and len(tokens) > count:
            return "_".join(tokens[:-count]), unit
    return name, None


def convert(value: float, given: Unit, wanted: Unit) -> float | None:
    """Return `value` in the unit `wanted`; None where a factor can't tell."""
    if given.quantity != wanted.quantity or not given.factor or not wanted.factor:
        return None
    return float(f"{value * given.factor / wanted.factor:.12g}")


_PREFIXES = ((1e6, "M"), (1e3, "k"), (1.0, ""), (1e-3, "m"), (1e-6, "u"), (1e-9, "n"), (1e-12, "p"))


def amount(value: float, unit: str) -> str:
    """Return a number with its unit and prefix: ``4.7 kohm``, three digits at most."""
    for factor, prefix in _PREFIXES:
        if abs(value) >= 0.9995 * factor:
            return f"{float(f'{value / factor:.3g}'):g} {prefix}{unit}"
    return f"0 {unit}"
