"""Generic parts that fill what a build file leaves out.

Data only. A key that the user gives overrides the part's value; what a part fills in is listed
among the assumed values with the source given here.
"""

from dataclasses import dataclass

from diodewright.build.keys import TYPICAL

__all__ = ["Part", "Value", "filled_by", "find", "parts"]


@dataclass(frozen=True)
class Value:
    """One value of a part: key (its name ends in the unit), value, source."""

    key: str
    value: float | str
    source: str


@dataclass(frozen=True)
class Part:
    """One generic part.

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


_SHEET = "a maker's data sheet"


def _cell(
    name: str,
    meaning: str,
    capacity_Ah: float,
    resistance_mohm: float,
    continuous_A: float,
    min_V: float,
    resistance_source: str = TYPICAL,
) -> Part:
    return Part(
        name,
        "pack.part",
        meaning,
        (
            Value("capacity_Ah", capacity_Ah, _SHEET),
            Value("cell_resistance_mohm", resistance_mohm, resistance_source),
            Value("discharge_continuous_A", continuous_A, _SHEET),
            Value("cell_min_V", min_V, _SHEET),
            Value("cell_full_V", 4.2, _SHEET),
        ),
    )


def _mosfet(name: str, meaning: str, rds_mohm: float, theta_K_W: float) -> Part:
    return Part(
        name,
        "cutoffs.a_part",
        meaning,
        (
            Value("a_rds_mohm", rds_mohm, TYPICAL),
            Value("a_tempco_pct_K", 0.5, "+50 % for +100 degC, a charger maker's data sheet"),
            Value("a_theta_K_W", theta_K_W, TYPICAL),
            Value("a_thermal_s", 1.0, TYPICAL),
            Value(
                "a_vgs_guaranteed_V", 2.5, "by choice: a 3.3 V controller's pin is sure of 2.62 V"
            ),
        ),
    )


def _beta(name: str, meaning: str, beta_K: float) -> Part:
    return Part(
        name,
        "sensors.ntc_part",
        meaning,
        (
            Value("ntc_curve", "beta", "ideal Beta equation"),
            Value("ntc_25_kohm", 10.0, "by name"),
            Value("ntc_beta_K", beta_K, "by name; 1 K off a real part at 0 and 100 degC"),
        ),
    )


_PUBLISHED_CURVE = (
    "fitted to the table in a temperature probe's published manual: 0.08 K from -40 to 100 degC"
)

_PARTS: tuple[Part, ...] = (
    _cell(
        "li_ion_18650_2600",
        "lithium-ion 18650, 2.6 Ah, 3C between 5 and 45 degC (0.5C below 5 degC)",
        2.6,
        65,
        7.8,
        2.75,
        f"{TYPICAL}; the sheet's 25 mohm are a 1 kHz value, which is lower",
    ),
    _cell("li_ion_18650_2200", "lithium-ion 18650, 2.2 Ah, 1C", 2.2, 70, 2.2, 2.75),
    _cell(
        "li_ion_14500_800",
        "lithium-ion 14500, 0.8 Ah, 2C",
        0.8,
        100,
        1.6,
        2.75,
        f"{_SHEET}; which kind of resistance it does not say",
    ),
    _cell("li_ion_18350_1400", "lithium-ion 18350, 1.4 Ah, 3 A", 1.4, 60, 3.0, 2.5),
    _mosfet("mosfet_n_logic_20mohm", "N-MOSFET, 20 mohm guaranteed at 2.5 V", 20, 62),
    _mosfet("mosfet_n_logic_30mohm", "N-MOSFET, 30 mohm guaranteed at 2.5 V", 30, 62),
    _mosfet("mosfet_n_logic_60mohm", "small N-MOSFET, 60 mohm guaranteed at 2.5 V", 60, 125),
    Part(
        "ntc_10k",
        "sensors.ntc_part",
        "thermistor, 10 kohm at 25 degC, Steinhart-Hart",
        (
            Value("ntc_curve", "steinhart_hart", "by choice"),
            Value("ntc_sh_a_1_K", 1.129241e-3, _PUBLISHED_CURVE),
            Value("ntc_sh_b_1_K", 2.341077e-4, _PUBLISHED_CURVE),
            Value("ntc_sh_c_1_K", 8.775468e-8, _PUBLISHED_CURVE),
        ),
    ),
    _beta("ntc_10k_b3950", "thermistor, 10 kohm at 25 degC, Beta 3950 K", 3950),
    _beta("ntc_10k_b3435", "thermistor, 10 kohm at 25 degC, Beta 3435 K", 3435),
)


def parts(key: str | None = None) -> tuple[Part, ...]:
    """Return all parts, or those that the key (``pack.part``) takes."""
    return tuple(part for part in _PARTS if key is None or part.key == key)


def find(key: str, name: str) -> Part | None:
    """Return the part of that name that the key takes; None where there is none."""
    for part in parts(key):
        if part.name == name:
            return part
    return None


def filled_by(section: str, key: str) -> str | None:
    """Return the name of the section's key whose parts fill in `key`; None: no part does."""
    for part in _PARTS:
        home, name = part.key.split(".")
        if home == section and any(value.key == key for value in part.values):
            return name
    return None
