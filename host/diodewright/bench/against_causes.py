"""What may be behind a difference between model and bench: a table, and how much each explains.

Each cause is one parameter of the plant. It is moved until the model fits the recording best; what
that leaves of the misfit says how much the cause explains. Causes that explain about as much as
the best are named with it: the numbers can't tell them apart.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from diodewright.bench.solving import Knob, solved
from diodewright.bench.span import Values

__all__ = ["CAUSES", "Blamed", "Cause", "Moved", "blamed"]

#: A cause must explain so much of what is left of the misfit to be named.
LEAST_SHARE = 0.5
#: A single cause that explains so much is looked no further behind; two must explain more than one
#: by what that lacks.
WELL = 0.95
#: Causes that explain this much less than the best are named with it.
ABOUT_AS_MUCH = 0.03
_MOST_NAMED = 3
#: So many of a hundred readings must lie within the band; the rest may be noise.
_SINGLE_PCT = 99.5


@dataclass(frozen=True)
class Cause:
    """One thing that may be otherwise than the build file says.

    Attributes
    ----------
    name : the plant's parameter.
    key : of the build file; "" where a person must look or measure.
    more, less : what it means where the bench has more, or less, of it.
    judged : quantities that it moves.
    unit : of the parameter.
    scales : it is a factor; else it shifts.
    in_key : the key's unit over the parameter's.
    """

    name: str
    key: str
    more: str
    less: str
    judged: tuple[str, ...]
    unit: str
    scales: bool = True
    in_key: float = 1.0


_WARM = ("mount", "sink")

CAUSES: tuple[Cause, ...] = (
    Cause(
        "sink_air_K_W",
        "heat.sink_air_K_W",
        "the sink gives less heat to the air: covered, too small, or no air moves",
        "the sink gives more heat to the air: a draught, or the enclosure helps",
        _WARM,
        "K/W",
    ),
    Cause(
        "sink_J_K",
        "heat.sink_J_K",
        "the sink holds more heat: heavier, or what it is screwed to warms as well",
        "the sink holds less heat: lighter, or only a part of it warms",
        _WARM,
        "J/K",
    ),
    Cause(
        "mount_sink_K_W",
        "heat.interface_K_W",
        "the contact from mount to sink is worse: screws, paste, pad",
        "the contact from mount to sink is better",
        _WARM,
        "K/W",
    ),
    Cause(
        "mount_J_K",
        "heat.mount_J_K",
        "the mount holds more heat: heavier",
        "the mount holds less heat: lighter, or its sensor sits close to the diode",
        _WARM,
        "J/K",
    ),
    Cause(
        "ntc_lag_s",
        "sensors.ntc_lag_s",
        "the sensors follow later: glue them again, closer",
        "the sensors follow sooner",
        _WARM,
        "s",
    ),
    Cause(
        "ambient_degC",
        "",
        "the air is warmer: ambient, a warm bench, or air that does not get away",
        "the air is colder: ambient, or a draught",
        _WARM,
        "degC",
        scales=False,
    ),
    Cause(
        "light_factor",
        "",
        "the diode gives more light and less heat than its points say",
        "the diode gives less light, hence more heat, than its points say: old, or damaged",
        _WARM,
        "",
    ),
    Cause(
        "set_gain",
        "",
        "more current flows than is asked for: the stage's shunt or set path, or the monitor reads "
        "high; calibrate the current",
        "less current flows than is asked for: the stage's shunt or set path, or the monitor reads "
        "low; calibrate the current",
        ("current",),
        "",
    ),
    Cause(
        "diode_spread_V",
        "",
        "the diode takes more voltage: another part, a colder junction, or a bad contact in its "
        "lead",
        "the diode takes less voltage: another part, a hotter junction, or a part of a string is "
        "shorted",
        ("output",),
        "V",
        scales=False,
    ),
    Cause(
        "cell_R0_ohm",
        "pack.cell_resistance_mohm",
        "the pack sags more at once: older or colder cells, or a contact in its way",
        "the pack sags less at once: better or warmer cells",
        ("pack",),
        "ohm",
        in_key=1000.0,
    ),
    Cause(
        "cell_R1_ohm",
        "pack.polarisation_mohm",
        "the pack sags more with time: older or colder cells",
        "the pack sags less with time",
        ("pack",),
        "ohm",
        in_key=1000.0,
    ),
    Cause(
        "cell_capacity_Ah",
        "pack.capacity_Ah",
        "the pack runs down later: more charge than it says",
        "the pack runs down sooner: less charge than it says, or a weak cell",
        ("pack",),
        "Ah",
    ),
)

#: Quantities that one set of causes answers for, in the order in which they are explained: current
#: and voltage of the diode make the heat, and what the pack gives.
FAMILIES: tuple[tuple[str, ...], ...] = (("current",), ("output",), _WARM, ("pack",))

#: Parameter values -> quantity -> model less bench, over its band.
Model = Callable[[Mapping[str, float]], Mapping[str, Values]]


@dataclass(frozen=True)
class Moved:
    """One cause with its parameter where the model fits best.

    Attributes
    ----------
    value, spread : of its parameter, two standard deviations.
    start : the build's.
    """

    cause: Cause
    value: float
    spread: float
    start: float

    @property
    def words(self) -> str:
        """What it means, in words."""
        return self.cause.more if self.value > self.start else self.cause.less


@dataclass(frozen=True)
class Blamed:
    """One cause, or two at once, that explain a difference.

    Attributes
    ----------
    explains : share of the misfit that they take away.
    enough : whether what is left lies within the band.
    """

    moved: tuple[Moved, ...]
    explains: float
    enough: bool


def blamed(
    wrong: Sequence[str], starts: Mapping[str, float], model: Model
) -> tuple[tuple[Blamed, ...], ...]:
    """Return what explains the quantities in `wrong`: a group a family that is out of its band.

    Within a group the best comes first, behind it those that explain about as much. Two causes at
    once are tried only where no single one is enough. A family is looked at with the best of those
    before it in place. `starts` has the causes that may be named.
    """
    groups: list[tuple[Blamed, ...]] = []
    fixed: dict[str, float] = {}
    for family in FAMILIES:
        if not set(family) & set(wrong):
            continue
        now = model(fixed)
        judged = tuple(name for name in family if name in now)
        if all(_within(now[name]) for name in judged):
            continue  # what was found before it has put it right
        causes = [each for each in CAUSES if each.judged == family and each.name in starts]
        search = _Search(judged, starts, model, fixed)
        group = search.best([(cause,) for cause in causes])
        if not (group and group[0].enough and group[0].explains >= WELL):
            pairs = search.best(list(combinations(causes, 2)))
            if pairs and (not group or pairs[0].explains >= group[0].explains + 1 - WELL):
                group = pairs
        if group:
            groups.append(group)
            fixed |= {each.cause.name: each.value for each in group[0].moved}
    return tuple(groups)


def _within(over_band: Values) -> bool:
    """Return whether all but single readings lie within the band."""
    return bool(np.percentile(np.abs(over_band), _SINGLE_PCT) <= 1.0)


@dataclass(frozen=True)
class _Search:
    judged: tuple[str, ...]
    starts: Mapping[str, float]
    model: Model
    fixed: Mapping[str, float]

    def best(self, sets: Sequence[tuple[Cause, ...]]) -> tuple[Blamed, ...]:
        """Return the sets of causes that explain most, and at least `LEAST_SHARE`."""
        tried = sorted((self.tried(causes) for causes in sets), key=lambda each: -each.explains)
        if not tried or tried[0].explains < LEAST_SHARE:
            return ()
        least = tried[0].explains - ABOUT_AS_MUCH
        return tuple(each for each in tried if each.explains >= least)[:_MOST_NAMED]

    def tried(self, causes: tuple[Cause, ...]) -> Blamed:
        """Return what moving these causes together explains."""
        # without a key, so that none of them is kept back
        knobs = [
            Knob(each.name, self.starts[each.name], "", each.name, each.unit, each.scales)
            for each in causes
        ]
        solution = solved(knobs, self.misfit)
        before, after = self.misfit({}), self.misfit(solution.values())
        moved = tuple(
            Moved(cause, found.value, found.spread, found.knob.start)
            for cause, found in zip(causes, solution.every, strict=True)
        )
        explains = 1.0 - _cost(after) / max(_cost(before), 1e-30)
        return Blamed(moved, explains, all(_within(each) for each in after.values()))

    def misfit(self, values: Mapping[str, float]) -> dict[str, Values]:
        """Return model less bench over the band, for the quantities that are judged."""
        found = self.model({**self.fixed, **values})
        return {name: found[name] for name in self.judged}


def _cost(over_band: Mapping[str, Values]) -> float:
    return float(sum(np.mean(each**2) for each in over_band.values()))
