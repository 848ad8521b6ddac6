"""Catalogue: MOSFETs for cut-off A, and thermistors."""

from diodewright.build.keys import TYPICAL
from diodewright.build.part import Part, Value

__all__ = ["MOSFETS", "THERMISTORS"]

_PIN = "by choice: a 3.3 V controller's pin is sure of 2.62 V"
_NEEDS_DRIVER = "by name: a controller's pin can't give it, and a build with it is refused"
_RISE = "+50 % for +100 degC, a charger maker's data sheet"


def _mosfet(
    name: str,
    meaning: str,
    rds_mohm: float,
    theta_K_W: float,
    vgs_V: float = 2.5,
    vgs_source: str = _PIN,
) -> Part:
    return Part(
        name,
        "cutoffs.a_part",
        meaning,
        (
            Value("a_rds_mohm", rds_mohm, TYPICAL),
            Value("a_tempco_pct_K", 0.5, _RISE),
            Value("a_theta_K_W", theta_K_W, TYPICAL),
            Value("a_thermal_s", 1.0, TYPICAL),
            Value("a_vgs_guaranteed_V", vgs_V, vgs_source),
        ),
    )


MOSFETS = (
    _mosfet("mosfet_n_logic_20mohm", "N-MOSFET, 20 mohm guaranteed at 2.5 V", 20, 62),
    _mosfet("mosfet_n_logic_30mohm", "N-MOSFET, 30 mohm guaranteed at 2.5 V", 30, 62),
    _mosfet("mosfet_n_logic_60mohm", "small N-MOSFET, 60 mohm guaranteed at 2.5 V", 60, 125),
    _mosfet(
        "mosfet_n_4V5_10mohm",
        "N-MOSFET, 10 mohm guaranteed at 4.5 V only: needs a gate driver",
        10,
        62,
        4.5,
        _NEEDS_DRIVER,
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

THERMISTORS = (
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
