"""Words by which the law reads: from codes to currents, voltages and temperatures, calibrated."""

import math

from diodedriver import words
from diodewright.build import Build
from diodewright.derive.board import DUTY_TOP, INDICATOR_SENSE_OHM, RAIL_V
from diodewright.derive.calibrated import (
    current_V_A,
    ntc_inverse_1_K,
    output_ratio,
    pack_ratio,
    zero_V,
)
from diodewright.derive.electrics import full_on_A

__all__ = ["ntc_words", "reading_words"]


def reading_words(build: Build) -> dict[str, int]:
    """Return what turns codes into readings, and a current asked for into duty."""
    full_V = build.sensors.reference_V
    return {
        "current_full_mA": round(1000 * full_V / current_V_A(build)),
        # a zero that is taken too low reads too much current: the safe side
        "current_zero_code": math.floor(round(4096 * zero_V(build) / full_V, 6)),
        "output_full_mV": round(1000 * full_V / output_ratio(build)),
        "pack_full_mV": round(1000 * full_V / pack_ratio(build)),
        "reference_full_mV": round(1000 * full_V),
        "indicator_full_uA": round(1e6 * full_V / INDICATOR_SENSE_OHM),
        "duty_full_mA": math.ceil(1000 * full_on_A(build)),
        "duty_top": DUTY_TOP,
    }


def ntc_words(build: Build) -> dict[str, int]:
    """Return the NTC's temperature [cK] at every 128th code, read hot where it is rounded.

    Divider: series resistor from the rail, NTC to ground, beside the ADC's input resistance.
    Steinhart-Hart 1/T = A + B ln R + C (ln R)^3, or Beta where the part gives one.
    """
    sensors = build.sensors
    table = {}
    for place in range(words.NTC_POINTS):
        pin_V = max(place, 0.25) * 128 / 4096 * sensors.reference_V
        leak_S = 1 / (1000 * sensors.adc_input_kohm)
        pull_A = (RAIL_V - pin_V) / sensors.ntc_series_ohm - pin_V * leak_S
        kelvin = 200.0 if pull_A <= 0 else _ntc_K(build, pin_V / pull_A)
        table[f"ntc_{place}_cK"] = math.ceil(100 * min(max(kelvin, 200.0), 600.0))
    return table


def _ntc_K(build: Build, ohm: float) -> float:
    sensors = build.sensors
    log = math.log(ohm)
    if sensors.ntc_curve == "steinhart_hart":
        inverse_1_K = (
            sensors.ntc_sh_a_1_K + sensors.ntc_sh_b_1_K * log + sensors.ntc_sh_c_1_K * log**3
        )
    else:
        steep = math.log(ohm / (1000 * sensors.ntc_25_kohm)) / sensors.ntc_beta_K
        inverse_1_K = 1 / 298.15 + steep
    gain, shift_1_K = ntc_inverse_1_K(build)
    if gain != 1.0 or shift_1_K:
        inverse_1_K = 1 / 298.15 + (inverse_1_K - 1 / 298.15) / gain + shift_1_K
    return 1 / inverse_1_K
