"""What a contradiction rule is, and the quantities beside the keys that rules speak of."""

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from typing import Any

from diodewright.build.cells import CHEMISTRIES
from diodewright.build.points import fit_forward
from diodewright.build.units import split

__all__ = ["QUANTITIES", "Quantity", "Rule", "at_most", "below", "order", "unit_of", "watched"]

#: Differences below this are rounding, in whatever unit.
_SLACK = 1e-9
_REFERENCE_degC = 25.0

Values = Mapping[str, Any]


@dataclass(frozen=True)
class Rule:
    """One rule.

    Attributes
    ----------
    rule : id.
    keys : keys and quantities that it looks at; the problem is reported at the first.
    holds : whether they agree, called with their values.
    wrong : what is wrong where they don't; ``{0:g}`` stands for the first value.
    mend : how to mend it, with the same marks.
    """

    rule: str
    keys: tuple[str, ...]
    holds: Callable[..., bool]
    wrong: str
    mend: str


@dataclass(frozen=True)
class Quantity:
    """A value that follows from keys: what people call it, what it needs, how it follows."""

    text: str
    needs: tuple[str, ...]
    follows: Callable[[Values], Any]


#: Pairs that were compared, the one that should be less first; None where nobody watches.
_WATCHED: ContextVar[list[tuple[float, float]] | None] = ContextVar("watched", default=None)


@contextmanager
def watched() -> Iterator[list[tuple[float, float]]]:
    """Yield a list that every comparison of `below` and `at_most` within is noted in."""
    pairs: list[tuple[float, float]] = []
    before = _WATCHED.set(pairs)
    try:
        yield pairs
    finally:
        _WATCHED.reset(before)


def _noted(a: float, b: float) -> None:
    pairs = _WATCHED.get()
    if pairs is not None:
        pairs.append((a, b))


def below(a: float, b: float) -> bool:
    """Return whether `a` is less than `b`, and not by rounding alone."""
    _noted(a, b)
    return a < b - _SLACK


def at_most(a: float, b: float) -> bool:
    """Return whether `a` is at most `b`, but for rounding."""
    _noted(a, b)
    return a <= b + _SLACK


def unit_of(name: str) -> str:
    """Return the unit that ends the name of a key or quantity, as text."""
    unit = split(name)[1]
    return unit.text if unit else ""


def order(rule: str, low: str, high: str, wrong: str, *, equal: bool = False) -> Rule:
    """Return the rule that one key or quantity lies below another (or, `equal`, at most there)."""
    limit = QUANTITIES[high].text if high in QUANTITIES else high
    return Rule(
        rule,
        (low, high),
        at_most if equal else below,
        wrong,
        f"write {'at most' if equal else 'less than'} {limit} ({{1:g}} {unit_of(high)})",
    )


def _highest_forward_V(values: Values) -> float:
    """Return the highest forward voltage [V] of any part: highest level, coldest junction."""
    cold_K = max(0.0, _REFERENCE_degC - values["heat.ambient_min_degC"])
    tempco_V_K = min(0.0, values["diode.forward_tempco_mV_K"]) / 1000
    fit = fit_forward(values["diode.forward_points_A_V"])
    at_25_V = fit.voltage_V(values["levels.highest_A"])
    return float(at_25_V + values["diode.forward_spread_V"] - tempco_V_K * cold_K)


def _over_pct(values: Values) -> float:
    """Return by how much [%] the highest level passes the diode's rating."""
    return float(100 * (values["levels.highest_A"] / values["diode.rated_A"] - 1))


def _junction_at_trip_degC(values: Values) -> float:
    """Return the junction [degC] at the mount's trip: highest level and voltage, all of it heat."""
    power_W = values["levels.highest_A"] * values["diode.forward_highest_V"]
    return float(values["limits.mount_trip_degC"] + values["heat.junction_mount_K_W"] * power_W)


def _ramp_lag_A(values: Values) -> float:
    """Return how far [A] the current lags the steepest part of the soft-start.

    The ramp 3x2 - 2x3 is 1.5 times as steep in its middle as on average; a chain of first-order
    lags follows a slope later by the sum of their time constants, and it is read a tick later.
    """
    lag_ms = 2 * values["stage.set_filter_ms"] + values["stage.loop_ms"] + 1.0
    rise_A = values["levels.highest_A"] - values["limits.start_level_A"]
    return float(1.5 * rise_A / values["limits.soft_start_ms"] * lag_ms)


def _rested_full_V(values: Values) -> float:
    """Return what a full pack shows at rest [V]: no more than the top of its cells' curve."""
    top_V = CHEMISTRIES[values["pack.chemistry"]].rested_full_V
    return float(values["pack.series"] * min(values["pack.cell_full_V"], top_V))


#: Names that rules use beside those of keys. "levels" is the table key -> current of all levels.
QUANTITIES: dict[str, Quantity] = {
    "levels.highest_A": Quantity(
        "the highest level", ("levels",), lambda v: max(v["levels"].values())
    ),
    "levels.lowest_A": Quantity(
        "the smallest level", ("levels",), lambda v: min(v["levels"].values())
    ),
    "diode.forward_end_A": Quantity(
        "the last forward point",
        ("diode.forward_points_A_V",),
        lambda v: v["diode.forward_points_A_V"][-1][0],
    ),
    "diode.light_end_A": Quantity(
        "the last light point",
        ("diode.light_points_A_W",),
        lambda v: v["diode.light_points_A_W"][-1][0],
    ),
    "diode.forward_highest_V": Quantity(
        "the highest forward voltage",
        (
            "diode.forward_points_A_V",
            "diode.forward_spread_V",
            "diode.forward_tempco_mV_K",
            "heat.ambient_min_degC",
            "levels.highest_A",
        ),
        _highest_forward_V,
    ),
    "levels.over_pct": Quantity(
        "the highest level over the rating", ("levels.highest_A", "diode.rated_A"), _over_pct
    ),
    "stage.module_most_A": Quantity(
        "the module's highest current",
        ("stage.module_A", "stage.module_tolerance_pct"),
        lambda v: v["stage.module_A"] * (1 + v["stage.module_tolerance_pct"] / 100),
    ),
    "diode.junction_at_trip_degC": Quantity(
        "the junction at the mount's trip",
        (
            "levels.highest_A",
            "diode.forward_highest_V",
            "limits.mount_trip_degC",
            "heat.junction_mount_K_W",
        ),
        _junction_at_trip_degC,
    ),
    "stage.ramp_lag_A": Quantity(
        "the lag in the soft-start",
        (
            "stage.set_filter_ms",
            "stage.loop_ms",
            "levels.highest_A",
            "limits.start_level_A",
            "limits.soft_start_ms",
        ),
        _ramp_lag_A,
    ),
    "pack.full_V": Quantity(
        "a full pack",
        ("pack.series", "pack.cell_full_V"),
        lambda v: v["pack.series"] * v["pack.cell_full_V"],
    ),
    "pack.rested_full_V": Quantity(
        "a full pack at rest",
        ("pack.chemistry", "pack.series", "pack.cell_full_V"),
        _rested_full_V,
    ),
    "pack.empty_V": Quantity(
        "series x cell_min_V",
        ("pack.series", "pack.cell_min_V"),
        lambda v: v["pack.series"] * v["pack.cell_min_V"],
    ),
}
