"""The section of what was measured on this very unit: left out, its parts are taken as nominal."""

from dataclasses import dataclass

from diodewright.build.keys import number

__all__ = ["Calibration"]


@dataclass(frozen=True, kw_only=True)
class Calibration:
    """How this unit's readings lie to the truth, and what that leaves uncertain.

    The sections about parts go on saying what is fitted; a gain of 1 is that part at its nominal
    value. `diodewright calibrate` writes these keys. None: not calibrated.
    """

    current_gain: float | None = number(
        0.7,
        1.4,
        "true current over what a nominal shunt and amplifier would read",
        default=None,
        source="not calibrated",
    )
    current_zero_mV: float | None = number(
        0, 250, "monitor amplifier's output at no current", default=None, source="not calibrated"
    )
    current_gain_off_pct: float | None = number(
        0,
        20,
        "how far the current's gain may still be off, in place of the part's",
        default=None,
        source="not calibrated",
    )
    current_zero_off_mV: float | None = number(
        0,
        250,
        "how far that output at no current may still be off",
        default=None,
        source="not calibrated",
    )
    output_gain: float | None = number(
        0.7,
        1.4,
        "true output over what a nominal divider would read",
        default=None,
        source="not calibrated",
    )
    output_off_pct: float | None = number(
        0,
        20,
        "how far the output's reading may still be off, in place of the part's",
        default=None,
        source="not calibrated",
    )
    pack_gain: float | None = number(
        0.7,
        1.4,
        "true pack voltage over what a nominal divider would read",
        default=None,
        source="not calibrated",
    )
    pack_off_pct: float | None = number(
        0,
        20,
        "how far the pack's reading may still be off, in place of the part's",
        default=None,
        source="not calibrated",
    )
    ntc_shift_K: float | None = number(
        -20,
        20,
        "how much hotter than the nominal curve a thermistor at 25 degC is",
        default=None,
        source="not calibrated",
    )
    ntc_beta_gain: float | None = number(
        0.8,
        1.25,
        "steepness of the thermistors' curve over the nominal one",
        default=None,
        source="not calibrated",
    )
    mount_off_K: float | None = number(
        0,
        20,
        "how far the mount's reading may still be off, in place of the part's",
        default=None,
        source="not calibrated",
    )
    sink_off_K: float | None = number(
        0,
        20,
        "how far the sink's reading may still be off, in place of the part's",
        default=None,
        source="not calibrated",
    )
    adc_uneven_codes: float | None = number(
        0,
        50,
        "how far uneven codes may put a reading off, in place of the usual 8",
        default=None,
        source="not calibrated",
    )
