"""What the settings on a board make it enforce, in plain units."""

from collections.abc import Mapping

__all__ = ["enforced"]

_ZERO_cK = 27315
#: What it is -> the settings words that say it; two words are a beginning and an end.
_LIMITS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("named levels", ("level_0_mA", "level_1_mA", "level_2_mA", "level_3_mA")),
    ("never asked for above", ("absolute_mA",)),
    ("over-current fault above", ("overcurrent_mA",)),
    ("current allowed while dark", ("dark_mA",)),
    ("start level", ("start_mA",)),
    ("emission delay", ("delay_ticks",)),
    ("soft-start", ("ramp_ticks",)),
    ("longest light from one press", ("auto_off_ticks",)),
    ("mount: cutback from, to", ("warm_cK", "hot_cK")),
    ("mount: trip", ("trip_cK",)),
    ("junction estimate: cutback from, to", ("junction_warm_cK", "junction_hot_cK")),
    ("junction estimate: trip", ("junction_trip_cK",)),
    ("pack: cutback from, to", ("cutback_mV", "cutback_end_mV")),
    ("pack: dark below, estimate and terminals", ("lockout_mV", "loaded_min_mV")),
    ("pack: lights again above", ("rearm_mV",)),
    ("output: short below, open above", ("short_mV", "open_mV")),
)


def _said(name: str, value: int) -> str:
    if name.endswith("_cK"):
        return f"{(value - _ZERO_cK) / 100:.1f} degC"
    if name.endswith("_ticks"):
        return f"{value / 1000:g} s"
    unit = "V" if name.endswith("_mV") else "A"
    return f"{value / 1000:g} {unit}"


def enforced(values: Mapping[str, int]) -> list[tuple[str, str]]:
    """Return (what, in words) of the key limits that settings words make the board keep."""
    rows = []
    for what, names in _LIMITS:
        said = dict.fromkeys(_said(name, values[name]) for name in names)
        rows.append((what, ", ".join(said)))
    fitted = "fitted" if values["interlock_fitted"] else "not fitted"
    return [*rows, ("interlock and key", fitted)]
