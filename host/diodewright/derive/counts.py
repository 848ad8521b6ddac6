"""Ticks in a row until each fault row latches."""

from collections.abc import Mapping

__all__ = ["COUNTS"]

#: Ticks in a row until a row latches. Common practice, no source, but for the bounds beside each.
COUNTS: Mapping[str, int] = {
    "settings": 1,
    "state": 1,
    "latch": 1,
    "overcurrent": 3,  # monitor filter settles in under 1 ms
    "stuck": 10,  # longer than the pulse detector's hold
    "short": 3,
    "open": 3,
    "follow": 25,  # longer than the fall from full to reserve
    "hot": 20,
    "junction": 5,
    "heat": 5000,
    "sensor": 15,  # three rounds of the multiplexer
    "stale": 5,
    "indicator": 30,  # longer than the lamp's first round of the multiplexer
    "pack_wrong": 50,
    "pack_min": 100,
    "pack_low": 500,
    "late": 1,
    "beat": 1,
    "charged": 1,
}
