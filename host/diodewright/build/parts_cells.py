"""Catalogue: cells by trade size and chemistry.

Resistances are direct-current values; makers print the lower 1 kHz value, so most stand here
without a source. Temperatures: a maker's continuous current holds between about 5 and 45 degC.
"""

from diodewright.build.keys import TYPICAL
from diodewright.build.part import Part, Value

__all__ = ["CELLS"]

_SHEET = "a maker's data sheet"
_MEMORY = f"from memory; {TYPICAL}"


def _cell(
    name: str,
    meaning: str,
    chemistry: str,
    capacity_Ah: tuple[float, str],
    resistance_mohm: tuple[float, str],
    continuous_A: tuple[float, str],
    *window: Value,
) -> Part:
    """Return one cell; each figure is (value, source), `window` are its own voltages if any."""
    return Part(
        name,
        "pack.part",
        meaning,
        (
            Value("chemistry", chemistry, "by name"),
            Value("capacity_Ah", *capacity_Ah),
            Value("cell_resistance_mohm", *resistance_mohm),
            Value("discharge_continuous_A", *continuous_A),
            *window,
        ),
    )


def _li_ion(
    name: str,
    meaning: str,
    capacity_Ah: float,
    resistance_mohm: float,
    continuous_A: float,
    min_V: float,
    source: str = _SHEET,
    resistance_source: str = TYPICAL,
) -> Part:
    return _cell(
        f"li_ion_{name}",
        f"lithium-ion {meaning}",
        "lithium_ion",
        (capacity_Ah, source),
        (resistance_mohm, resistance_source),
        (continuous_A, source),
        Value("cell_min_V", min_V, source),
        Value("cell_full_V", 4.2, source),
    )


CELLS = (
    _li_ion(
        "18650_2600",
        "18650, 2.6 Ah, 3C between 5 and 45 degC (0.5C below 5 degC)",
        2.6,
        65,
        7.8,
        2.75,
        resistance_source=f"{TYPICAL}; the sheet's 25 mohm are a 1 kHz value, which is lower",
    ),
    _li_ion("18650_2200", "18650, 2.2 Ah, 1C", 2.2, 70, 2.2, 2.75),
    _li_ion(
        "18650_3400", "18650 made for capacity, 3.4 Ah, 2C", 3.4, 60, 6.8, 2.5, _MEMORY, _MEMORY
    ),
    _li_ion(
        "18650_2500_power",
        "18650 made for power, 2.5 Ah, 20 A",
        2.5,
        25,
        20,
        2.5,
        _MEMORY,
        _MEMORY,
    ),
    _li_ion(
        "14500_800",
        "14500 (AA size), 0.8 Ah, 2C",
        0.8,
        100,
        1.6,
        2.75,
        resistance_source=f"{_SHEET}; which kind of resistance it does not say",
    ),
    _li_ion(
        "18350_1400",
        "18350, 1.4 Ah, 3 A",
        1.4,
        60,
        3.0,
        2.5,
        resistance_source=f"{TYPICAL}; the sheet's 30 mohm are an impedance, which is lower",
    ),
    _li_ion(
        "10440_320", "10440 (AAA size), 0.32 Ah, about 1C", 0.32, 180, 0.35, 2.75, _MEMORY, _MEMORY
    ),
    _cell(
        "nimh_aaa_700",
        "nickel-metal hydride AAA, 0.7 Ah, 1C",
        "nimh",
        (0.7, f"{_SHEET}, at 0.2 It"),
        (70, f"{TYPICAL}; the sheet's 30 mohm are a 1 kHz value, which is lower"),
        (0.7, f"{_SHEET}: the highest current of its curves"),
    ),
    _cell(
        "nimh_aa_1900",
        "nickel-metal hydride AA, 1.9 Ah, 1C",
        "nimh",
        (1.9, _MEMORY),
        (50, _MEMORY),
        (1.9, _MEMORY),
    ),
    _cell(
        "alkaline_aaa",
        "alkaline AAA (LR03), not to be charged; about 0.8 Ah at 0.25 A",
        "alkaline",
        (0.8, f"at 0.25 A; {TYPICAL}; a maker's specification has 1.3 Ah at 10 mA"),
        (400, f"{TYPICAL}; a maker's specification allows up to 0.56 ohm (1.6 to 1.4 V, 3.9 ohm)"),
        (0.35, TYPICAL),
    ),
    _cell(
        "alkaline_aa",
        "alkaline AA (LR6), not to be charged; about 1.5 Ah at 0.5 A",
        "alkaline",
        (1.5, f"at 0.5 A; {TYPICAL}; a maker's specification has 2.2 Ah at 43 ohm"),
        (250, "between a maker's 0.21 ohm (pulse of 0.5 A) and another's limit of 0.40 ohm"),
        (0.7, "an open encyclopedia's rule of thumb: no significant heating"),
    ),
)
