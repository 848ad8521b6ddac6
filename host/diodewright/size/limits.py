"""Limit rows: each limit of the build, how near the highest level comes, and what buys most margin.

Values are closed forms and settled points of the plant in the corner that the row names, not runs:
`rehearse` judges runs and faults. Ends of microseconds (turn-on, trip, insertion) are judged there
as well. A margin is the part of the limit that is left, as everywhere.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from diodewright.build import Build
from diodewright.derive.board import PIN_HIGH_V
from diodewright.derive.criteria import CHANNEL_MAX_DEGC
from diodewright.derive.electrics import (
    cold_hold_A,
    highest_level_A,
    operate,
)
from diodewright.size.caps import by_pack_A
from diodewright.size.contacts import contact_A
from diodewright.size.descent import start_charge_pct
from diodewright.size.electrical import peak_A
from diodewright.size.pack import rated_pack_A, short_circuit_A
from diodewright.size.survey import Survey, cold_corner, survey
from diodewright.size.thermal import before_cutback_s
from diodewright.size.warming import light_after_W
from diodewright.size.wiring import MELTS_AT, fuse_A
from diodewright.size.working import lit_state, plant_of, regulating_ohm, settled

__all__ = ["Limit", "limits"]

Sense = Literal["at_most", "at_least"]


@dataclass(frozen=True)
class Limit:
    """One limit and what the build makes of it.

    Attributes
    ----------
    id : stable name, with its unit.
    value, limit : in `unit`.
    sense : the limit is a ceiling or a floor.
    unit : of both.
    meaning : what is compared, and in which corner.
    """

    id: str
    value: float
    limit: float
    sense: Sense
    unit: str
    meaning: str

    @property
    def margin(self) -> float:
        """Part of the limit that is left; below 0 where it is passed."""
        room = self.limit - self.value if self.sense == "at_most" else self.value - self.limit
        return room / abs(self.limit) if self.limit else room


def _diode(build: Build, found: Survey) -> Iterator[Limit]:
    part, level_A = build.diode, highest_level_A(build)
    peak = peak_A(build, found.cool)
    yield Limit(
        "peak_current_A",
        peak,
        part.absolute_A,
        "at_most",
        "A",
        "diode's peak and its absolute maximum, full trim, full pack",
    )
    yield Limit("level_A", level_A, part.rated_A, "at_most", "A", "highest level and the rating")
    at_trip = settled(plant_of(build), level_A, 100.0, build.limits.mount_trip_degC)
    yield Limit(
        "junction_degC",
        at_trip.junction_degC,
        part.junction_max_degC,
        "at_most",
        "degC",
        "junction, full level, mount at its trip",
    )


def _heat(build: Build, found: Survey) -> Iterator[Limit]:
    warmest = "warmest air"
    yield Limit(
        "touch_degC",
        found.kept_hot.sink_degC,
        build.heat.sink_touch_max_degC,
        "at_most",
        "degC",
        f"sink, {warmest}, light left on",
    )
    yield Limit(
        "cutoff_a_degC",
        found.hot.a_degC,
        CHANNEL_MAX_DEGC,
        "at_most",
        "degC",
        f"channel of cut-off A, {warmest}",
    )
    if build.stage.kind == "linear":
        hot_sink = settled(
            plant_of(build), highest_level_A(build), 100.0, build.limits.mount_hot_degC
        )
        yield Limit(
            "pass_degC",
            hot_sink.pass_degC,
            CHANNEL_MAX_DEGC,
            "at_most",
            "degC",
            "channel of the pass MOSFET, full pack, sink where cutback ends",
        )


def _asked(build: Build, found: Survey) -> Iterator[Limit]:
    """Yield what the build's own criteria ask of light and time."""
    want = build.criteria
    if want.light_min_W is not None:
        yield Limit(
            "light_W",
            light_after_W(build, 60.0),
            want.light_min_W,
            "at_least",
            "W",
            "light at the end of the first minute",
        )
    if want.before_cutback_min_s is not None:
        lasts_s = min(before_cutback_s(build, found.words), build.controls.auto_off_s)
        yield Limit(
            "before_cutback_s",
            lasts_s,
            want.before_cutback_min_s,
            "at_least",
            "s",
            "full light before heat takes some, at ambient",
        )


def _headroom(build: Build) -> Limit:
    """Return the stage's input against its need: full, but cold cells, and the highest diode."""
    corner, level_A = cold_corner(build), highest_level_A(build)
    p, x = plant_of(build, corner), lit_state()
    asked = settled(p, level_A, start_charge_pct(build), corner.air_degC, x)
    path_ohm = float(p.series_ohm + p.a_ohm) + regulating_ohm(p, x)
    cold = operate(p, level_A, asked.junction_degC)
    return Limit(
        "headroom_V",
        asked.pack_V,
        cold.volts_V + level_A * path_ohm,
        "at_least",
        "V",
        "full pack, cold, under full level and what the stage needs, diode of highest voltage",
    )


def _end_V(build: Build, found: Survey) -> float:
    """Return the least loaded pack [V] of a light: the estimate at which it ends, less its sag."""
    words, limits_of, full = found.words, build.limits, found.last
    rested_V, load_A = limits_of.pack_lockout_V, full.diode_A
    if words["gate_mA"]:
        rested_V = limits_of.pack_cutback_end_V
    else:
        load_A = min(by_pack_A(words, rested_V), load_A)
    sag_V = load_A * full.output_V / rested_V * words["sag_mohm"] / 1000
    return max(rested_V - sag_V, limits_of.pack_loaded_min_V)


def _pack(build: Build, found: Survey) -> Iterator[Limit]:
    pack = build.pack
    yield _headroom(build)
    carried_A = found.pack_A
    if pack.kind == "bench_supply":
        said = "out of the supply and its current limit"
        yield Limit("pack_current_A", carried_A, rated_pack_A(build), "at_most", "A", said)
        return
    said = "out of the pack and its cells' rating, warm or cold"
    yield Limit("pack_current_A", carried_A, rated_pack_A(build), "at_most", "A", said)
    yield Limit(
        "cold_hold_A",
        cold_hold_A(build),
        build.levels.by_current[-1][1],
        "at_least",
        "A",
        "what a cold pack at lockout holds and the lowest level",
    )
    yield Limit(
        "end_pack_V",
        _end_V(build, found),
        pack.series * pack.cell_min_V,
        "at_least",
        "V",
        "pack under load where the law goes dark and the cells' cut-off",
    )
    rated_A = fuse_A(carried_A)
    if rated_A is not None:
        yield Limit(
            "fuse_A",
            short_circuit_A(build, cold=True),
            MELTS_AT * rated_A,
            "at_least",
            "A",
            f"a cold pack's short and {MELTS_AT:g} times the fuse of {rated_A:g} A, to melt it",
        )


def _switches(build: Build, _: Survey) -> Iterator[Limit]:
    yield Limit(
        "contact_mA",
        1000 * contact_A(),
        1000 * build.switch.rated_A,
        "at_most",
        "mA",
        "trigger's contact and its rating",
    )
    yield Limit(
        "gate_V",
        build.cutoffs.a_vgs_guaranteed_V,
        PIN_HIGH_V,
        "at_most",
        "V",
        "gate voltage that cut-off A needs and what a pin is sure of",
    )


_TOPICS: tuple[Callable[[Build, Survey], Iterator[Limit]], ...] = (
    _diode,
    _heat,
    _asked,
    _pack,
    _switches,
)


def limits(build: Build, found: Survey | None = None) -> Mapping[str, Limit]:
    """Return every limit row of `build` by id; `found` where its points are known already.

    Raises
    ------
    DerivedError
        The build gives a settings word that the board would refuse.
    """
    found = found or survey(build)
    rows = [row for topic in _TOPICS for row in topic(build, found)]
    return {row.id: row for row in rows}
