"""What is searched: keys, what a choice of them shows, and which of two choices is the better.

Constraints are handled by the rules of K. Deb, Comput. Methods Appl. Mech. Engrg 186 (2000), 311:
of two choices the one that holds all constraints is better; of two that do, the one of the better
figure; of two that don't, the one that misses by less. No penalty weighs light against damage.
What is looked into in stages is compared by stages: who is stopped at an earlier one misses more.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

__all__ = [
    "DEPTHS",
    "STAGES",
    "Aim",
    "Ask",
    "Choice",
    "Dial",
    "Look",
    "Problem",
    "Row",
    "better",
    "holds",
    "merit",
    "missed",
    "rank",
    "rows_of",
]

#: How deep a choice is looked into: checks without a run; the build as it is; true builds at
#: corners; faults. Each goes on only where the one before it holds; with a plus it does not stop
#: at what is missed, for slopes.
DEPTHS = ("cheap", "nominal", "corners", "full", "nominal+", "corners+", "full+")
STAGES = {"cheap": 1, "nominal": 2, "corners": 3, "full": 4}
STAGES |= {f"{depth}+": stage for depth, stage in STAGES.items() if stage > 1}
#: A limit that is met but for rounding in binary fractions.
_SLACK = 1e-9

#: A value of every key, in the order of the problem's keys.
Choice = tuple[float, ...]


@dataclass(frozen=True)
class Dial:
    """One key that may be moved.

    Attributes
    ----------
    path : of the build file, ``section.key``.
    low, high : its range here.
    step : what its values are rounded to.
    start : what the build says now.
    unit : as text.
    whole : whether it is a count.
    power : whether the file has 2 ** -n where the dial has n: what a law that shifts can do.
    """

    path: str
    low: float
    high: float
    step: float
    start: float
    unit: str = ""
    whole: bool = False
    power: bool = False

    def given(self, value: float) -> float | int:
        """Return a dial's value as a build file gives it."""
        if self.power:
            return float(2.0**-value)
        return round(value) if self.whole else value

    @property
    def span(self) -> float:
        """The length of the range; never 0."""
        return max(self.high - self.low, self.step)

    def snapped(self, value: float) -> float:
        """Return `value` rounded to the step and within the range."""
        places = max(0, -math.floor(math.log10(self.step)) + 2)
        least = math.ceil(round(self.low / self.step, 6))
        most = math.floor(round(self.high / self.step, 6))
        count = min(max(round(value / self.step), least), most)
        return round(count * self.step, places)


@dataclass(frozen=True)
class Row:
    """One constraint of one choice.

    Attributes
    ----------
    id : its name, once in a choice.
    room : what is left of it, in `unit`; negative where it is missed.
    scale : what makes rooms of different units comparable, in `unit`.
    value, limit : what was found, and what may be.
    unit, corner, meaning : as text; the corner is where it was found.
    """

    id: str
    room: float
    scale: float
    value: float = math.nan
    limit: float = math.nan
    unit: str = ""
    corner: str = ""
    meaning: str = ""

    @property
    def misses(self) -> float:
        """By how much it is missed, in parts of the scale; 0 where it holds."""
        relative = self.room / self.scale
        return 0.0 if relative >= -_SLACK else -relative


@dataclass(frozen=True)
class Look:
    """What one choice showed.

    Attributes
    ----------
    figures : name with its unit -> value; empty where nothing was run.
    rows : the constraints that were reached.
    stage : how many stages it was looked into: 0 refused, 1 cheap, 2 nominal, 3 corners, 4 faults.
    refused : what the build's own checks say against it, in words.
    simulations : closed loops that were run for it.
    """

    figures: Mapping[str, float]
    rows: tuple[Row, ...]
    stage: int
    refused: tuple[str, ...] = ()
    simulations: int = 0


@dataclass(frozen=True)
class Ask:
    """A limit on a figure: at least `limit` where `sense` is 1, at most where it is -1."""

    figure: str
    sense: int
    limit: float
    scale: float
    unit: str = ""


@dataclass(frozen=True)
class Aim:
    """What is wanted most: as much as can be had of a figure (`sense` 1), or as little (-1)."""

    figure: str
    sense: int = 1
    asks: tuple[Ask, ...] = ()
    #: Room that a constraint must keep beyond its limit: id -> room in its unit.
    cuts: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Problem:
    """Keys and aim."""

    dials: tuple[Dial, ...]
    aim: Aim

    @property
    def start(self) -> Choice:
        """What the build says now."""
        return tuple(dial.start for dial in self.dials)

    def snapped(self, choice: Choice) -> Choice:
        """Return a choice on the steps of its keys; one that stays at the start keeps its value."""
        return tuple(
            value if value == dial.start else dial.snapped(value)
            for dial, value in zip(self.dials, choice, strict=True)
        )

    def values(self, choice: Choice) -> dict[str, object]:
        """Return what a choice moves, by key, as a build file gives it."""
        return {
            dial.path: dial.given(value)
            for dial, value in zip(self.dials, choice, strict=True)
            if value != dial.start
        }


def rows_of(look: Look, aim: Aim) -> tuple[Row, ...]:
    """Return the constraints of a choice, with the cuts and what is asked of figures."""
    rows = [_cut(row, aim.cuts) for row in look.rows]
    for ask in aim.asks:
        if ask.figure in look.figures:
            value = look.figures[ask.figure]
            room = ask.sense * (value - ask.limit)
            said = f"{ask.figure} at {'least' if ask.sense > 0 else 'most'} as asked"
            rows.append(
                Row(f"asked:{ask.figure}", room, ask.scale, value, ask.limit, ask.unit, "", said)
            )
    return tuple(rows)


def _cut(row: Row, cuts: Mapping[str, float]) -> Row:
    if row.id not in cuts:
        return row
    kept = cuts[row.id]
    return Row(
        row.id,
        row.room - kept,
        row.scale,
        row.value,
        row.limit,
        row.unit,
        row.corner,
        row.meaning,
    )


def missed(look: Look, aim: Aim) -> tuple[Row, ...]:
    """Return the constraints that a choice misses, the worst first."""
    rows = [row for row in rows_of(look, aim) if row.misses]
    return tuple(sorted(rows, key=lambda row: -row.misses))


def holds(look: Look, aim: Aim, depth: str = "full") -> bool:
    """Return whether a choice was looked into to `depth` and misses nothing."""
    return not look.refused and look.stage >= STAGES[depth] and not missed(look, aim)


def merit(look: Look, aim: Aim) -> float:
    """Return what is to be as large as can be; minus infinity where it is not known."""
    value = look.figures.get(aim.figure, math.nan)
    return -math.inf if math.isnan(value) else aim.sense * value


def rank(look: Look, aim: Aim, depth: str = "full") -> tuple[float, float, float]:
    """Return what choices are ordered by, the best first; see the module."""
    if holds(look, aim, depth):
        return (0.0, 0.0, -merit(look, aim))
    short = STAGES[depth] - min(look.stage, STAGES[depth])
    violation = sum(row.misses for row in missed(look, aim)) + len(look.refused)
    return (1.0, float(short), violation)


def better(look: Look, than: Look, aim: Aim, depth: str = "full") -> bool:
    """Return whether a choice beats another by the rules."""
    return rank(look, aim, depth) < rank(than, aim, depth)
