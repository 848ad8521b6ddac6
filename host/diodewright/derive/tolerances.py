"""How far the true parts of a build may be from what the build says, and one true build's draw.

A row of the table moves plant parameters, never a settings word: the board believes in the nominal
build, because it can't know its own tolerances. A draw ``z`` of a row lies between -1 and +1; 0
leaves every parameter as it is, to the last bit, the ends are the row's two limits, and between
nothing and each limit it goes straight.

Limits come from the build's own keys where there is one; else they are typical figures, each with
its source beside it. What is known as bounds only is spread evenly between them (JCGM 100:2008,
4.3.7); "normal" rows are what makers sort or sum, with the limit at three standard deviations and
nothing beyond it.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from statistics import NormalDist
from typing import Any

from diodewright.build import Build
from diodewright.derive.electrics import parameters
from diodewright.derive.plant import plant_values
from diodewright.derive.tolerance_row import How, Row, Shape
from diodewright.derive.tolerance_table import ONLY, TABLE
from diodewright.plant.params import PARAMS
from diodewright.plant.sensors import ntc_ohm

__all__ = ["SIGMAS", "Tolerance", "drawn_values", "placed", "tolerances"]

#: Standard deviations from nothing to a normal row's limit.
SIGMAS = 3.0
_BETWEEN = 1.0 - 2.0 * NormalDist().cdf(-SIGMAS)
_STARTS = {row.name: row.start for row in PARAMS if row.start is not None}


@dataclass(frozen=True)
class Tolerance:
    """One part that spreads, in one build.

    Attributes
    ----------
    name, part : stable name; what spreads, in a builder's words.
    moves : the plant parameters that a draw changes.
    how : "share" multiplies by 1 + amount; "shift" adds it; "ntc_K" makes a thermistor read so
        much hotter; "ntc_curve" makes its curve so much steeper around 25 degC.
    low, high : the amount at z = -1 (not above 0) and at z = +1 (not below 0).
    unit : of the amount; "" for a share.
    shape : how draws lie between the limits.
    source : the build's key that gives the limit, or where the figure is from.
    """

    name: str
    part: str
    moves: tuple[str, ...]
    how: How
    low: float
    high: float
    unit: str
    shape: Shape
    source: str

    def amount(self, z: float) -> float:
        """Return the amount at draw `z`: nothing at 0, `low` at -1, `high` at +1."""
        return z * self.high if z >= 0 else -z * self.low

    @property
    def ends(self) -> tuple[float, ...]:
        """The draws at which this row is away from the nominal build."""
        return tuple(z for z, at in ((-1.0, self.low), (1.0, self.high)) if at != 0)


def _of(row: Row, build: Build) -> Tolerance:
    low, high = row.limits(build)
    moves = row.moves
    if row.how == "ntc_curve":
        beta = build.sensors.ntc_curve == "beta"
        moves = row.moves[:1] if beta else row.moves[1:]
    return Tolerance(row.name, row.part, moves, row.how, low, high, row.unit, row.shape, row.source)


def tolerances(build: Build) -> tuple[Tolerance, ...]:
    """Return every part of `build` that spreads, in the order of the table."""
    asked = (row for row in TABLE if row.name not in ONLY or ONLY[row.name](build))
    return tuple(row for row in (_of(each, build) for each in asked) if row.ends)


def placed(row: Tolerance, chance: float) -> float:
    """Return the draw z of `row` at a `chance` evenly drawn from 0 to 1, by its inverse.

    A row that has but one limit is drawn between nothing and that limit.
    """
    if row.shape == "normal":
        below = NormalDist().cdf(-SIGMAS)
        z = NormalDist().inv_cdf(below + _BETWEEN * chance) / SIGMAS
    else:
        z = 2.0 * chance - 1.0
    if len(row.ends) == 1:
        z = abs(z) * row.ends[0]
    return z


def _hotter(build: Build, amount_K: float) -> float:
    """Return the resistance's factor of a thermistor that reads `amount_K` [K] too hot.

    At the temperature where the law's cutback ends, which is where the reading counts.
    """
    p, at_degC = parameters(build), build.limits.mount_hot_degC
    return float(ntc_ohm(p, at_degC + amount_K) / ntc_ohm(p, at_degC))


def _steeper(values: dict[str, Any], moves: tuple[str, ...], amount: float) -> None:
    """Stretch 1/T - 1/298.15 K over ln R by 1 / (1 + amount), in the constants of either form."""
    if moves == ("ntc_beta_K",):
        values["ntc_beta_K"] *= 1.0 + amount
        return
    at_25_1_K = 1.0 / 298.15
    values["ntc_sh_A"] = at_25_1_K + (values["ntc_sh_A"] - at_25_1_K) / (1.0 + amount)
    values["ntc_sh_B"] /= 1.0 + amount
    values["ntc_sh_C"] /= 1.0 + amount


def drawn_values(
    build: Build, draws: Mapping[str, float], rows: tuple[Tolerance, ...] | None = None
) -> dict[str, object]:
    """Return the plant parameters of one true build.

    Parameters
    ----------
    draws : row -> z; a row left out, and a z of 0, is the nominal build.
    rows : the table; the build's own where None.
    """
    values: dict[str, Any] = dict(plant_values(build))
    for row in tolerances(build) if rows is None else rows:
        amount = row.amount(draws.get(row.name, 0.0))
        if amount == 0:
            continue
        if row.how == "ntc_curve":
            _steeper(values, row.moves, amount)
            continue
        for name in row.moves:
            value = values[name] if name in values else _STARTS[name]
            if row.how == "shift":
                values[name] = value + amount
            else:
                share = amount if row.how == "share" else _hotter(build, amount) - 1.0
                values[name] = value * (1.0 + share)
    return values
