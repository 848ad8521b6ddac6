"""Each row earns its place: without what is meant to act, its case ends otherwise.

"law": with the law's counts, windows and caps taken away (`blind`), reaction or verdict changes.
"hardware": with the named part dead it does. "either": each of the two alone makes it dark in
time, and with the part dead the law is seen to act. Rows about words of the law, and about what a
hand moves, are asked of a law without that rule, which is another engine: marked `long`.
"""

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import pytest

from diodedriver import words
from diodewright.build import Build, examples, load
from diodewright.faults import CORE, ENGINE, Fault
from diodewright.judge import CaseFinding
from diodewright.plant.params import PARAMS, index_of
from diodewright.rehearse import Stand, run_case, snapshots
from diodewright.rehearse.cases import lacks
from diodewright.sim import Machine, compiled
from diodewright.sim.engine import law_text

#: What is named in `by` -> the plant's word that makes it dead, and its value then.
DEAD = {
    "over-current comparator": ("over_current_dead", 1.0),
    "over-voltage comparator": ("over_voltage_dead", 1.0),
    "dynamic enable": ("pulse_hold_s", 100.0),
    "supply supervisor": ("supervisor_dead", 1.0),
    "gate logic": ("gates_dead", 1.0),
}
#: Where the law is seen to act, if not on the laser in steady light.
WHERE = {
    "set-drift": ("cave_lamp", "steady"),
    "pass-weak": ("cave_lamp", "steady"),
    "contact-ohmic": ("cave_lamp", "steady"),
    "bench-limit": ("smoke_tunnel_bench", "steady"),
    "monitor-frozen": ("smoke_tunnel", "soft-start"),
}
#: One cut-off can't open: the law makes dark by the other, as long as that one is whole.
OTHER = {
    "a-short": ("b_stuck_on", 1.0),
    "case-grounded": ("b_stuck_on", 1.0),
    "b-stuck": ("a_short", 1.0),
}
GUARD = (
    ("    if wrong != 0:\n", "    if wrong < 0:\n"),
    ("    if stray >= 0:\n        return 0\n", "    if stray != 1 << 30:\n        return 0\n"),
)
#: A trim is bounded three times over.
BOUNDS = (
    ("    authority = limits[_L_AUTHORITY_MA] << 6\n", "    authority = 65535\n"),
    ("    if wanted > most:\n        wanted = most\n", ""),
    (
        "    if wanted > limits[_L_ABSOLUTE_MA] << 6:\n"
        "        wanted = limits[_L_ABSOLUTE_MA] << 6\n",
        "",
    ),
)
CONTROLS = (
    (
        "    pins = readings[_R_PINS]\n    hard = int(starved",
        "    pins = readings[_R_PINS] | 7\n    hard = int(starved",
    ),
)
#: Rows about a rule of the law that no setting takes away -> the law without it.
WITHOUT = {
    "limit-flipped": GUARD,
    "state-flipped": GUARD,
    "trim-flipped": BOUNDS,
    "trigger-open": CONTROLS,
    "trigger-bounce": CONTROLS,
    "interlock-open": CONTROLS,
    "interlock-bounce": CONTROLS,
    "key-off": CONTROLS,
    "key-bounce": CONTROLS,
    "gates-dead": CONTROLS,
}
_PLACES = index_of(PARAMS)


@cache
def taken(name: str) -> tuple[Build, dict[str, Stand]]:
    build = load(name)
    return build, snapshots(build, compiled(), 1, CORE)


def limit(machine: Machine, name: str, value: int) -> None:
    """Write a limit with its complement, so that the guard does not see it."""
    place = words.index(words.LIMITS, name)
    machine.limits[place] = value
    machine.limits[len(words.LIMITS) + place] = value ^ 0x3FFFFFFF


def blind(machine: Machine) -> None:
    """Take from the law what it detects by: counts of ten seconds, no window, no cap of heat."""
    for row in words.FAULTS:
        if row[0] not in words.AT_ONCE:
            limit(machine, f"count_{row[0]}", 10_000)
    top_mA = int(machine.limits[words.index(words.LIMITS, "top_mA")])
    for name in ("dim_mA", "sustain_mA", "reserve_mA"):
        limit(machine, name, top_mA)
    for name in ("model_min_cK", "model_extra_cK", "late_ticks", "beat_max_ticks"):
        limit(machine, name, 60_000)
    limit(machine, "headroom_mV", 0)


def plant(name: str, value: float) -> Callable[[Machine], None]:
    def write(machine: Machine) -> None:
        machine.p.flat[_PLACES[name]] = value

    return write


def ended(row: Fault, *changes: Callable[[Machine], None]) -> CaseFinding:
    """Run the case of `row` that shows its detection, with changes to the machine."""
    name, at = WHERE.get(row.id, ("smoke_tunnel", "steady"))
    build, moments = taken(name)
    stand = moments[at]
    stand = replace(stand, machine=stand.machine.copy())
    for change in changes:
        change(stand.machine)
    return run_case(build, stand, row, at, 1).finding


def differ(one: CaseFinding, other: CaseFinding) -> bool:
    return (one.reaction, one.survives) != (other.reaction, other.survives)


def rows(*acts: str) -> list[object]:
    """Return the rows whose actors these are, but for those asked of another law."""
    able = [row for row in ENGINE if row.acts in acts and row.id not in WITHOUT]
    return [pytest.param(row, id=row.id) for row in able if row.id not in OTHER]


@pytest.mark.parametrize("row", rows("law"))
def test_without_the_laws_detection_the_case_ends_otherwise(row: Fault) -> None:
    whole = ended(row)
    assert whole.survives
    assert whole.reaction.startswith("law"), whole.reaction
    assert differ(whole, ended(row, blind))


@pytest.mark.parametrize("row", rows("hardware"))
def test_without_the_part_that_acts_the_case_ends_otherwise(row: Fault) -> None:
    whole = ended(row)
    assert whole.survives
    assert whole.reaction.startswith("hardware"), whole.reaction
    assert not ended(row, plant(*DEAD[row.by])).survives


@pytest.mark.parametrize("row", rows("either"))
def test_either_of_law_and_hardware_alone_makes_dark_in_time(row: Fault) -> None:
    assert ended(row, blind).survives, "hardware alone"
    alone = ended(row, plant(*DEAD[row.by]))
    assert alone.survives, "the law alone"
    assert alone.reaction.startswith("law")


@pytest.mark.parametrize("name", OTHER)
def test_a_cut_off_that_cannot_open_leaves_the_dark_to_the_other_one(name: str) -> None:
    row = next(row for row in ENGINE if row.id == name)
    assert ended(row).survives
    frozen = plant("set_frozen", 1.0)  # the set point alone would make it dark as well
    assert ended(row, frozen).survives
    assert not ended(row, frozen, plant(*OTHER[name])).survives


@pytest.mark.long
@pytest.mark.parametrize("name", WITHOUT)
def test_without_the_laws_rule_the_case_ends_otherwise(name: str) -> None:
    text = law_text()
    for old, new in WITHOUT[name]:
        assert text.count(old) == 1
        text = text.replace(old, new)
    row = next(row for row in ENGINE if row.id == name)
    build, moments = taken("smoke_tunnel")
    whole = run_case(build, moments["steady"], row, "steady", 1).finding
    stand = moments["steady"]
    other = replace(stand, machine=replace(stand.machine.copy(), engine=compiled(text)))
    case = run_case(build, other, row, "steady", 1).finding
    assert whole.survives
    assert differ(whole, case)


def test_nobody_acts_where_the_row_says_so() -> None:
    for row in ENGINE:
        if row.acts == "nobody" and row.watch_s <= 10 and not lacks(load("smoke_tunnel"), row):
            case = ended(row)
            assert case.survives, row.id
            assert case.reaction.startswith(("none needed", "law dims")), row.id


def test_every_row_is_asked_for_or_says_that_nobody_acts() -> None:
    asked = {row.id for row in ENGINE if row.acts != "nobody"}
    assert WITHOUT.keys() | OTHER.keys() <= asked | {"trigger-bounce"}
    assert {where for where, _ in WHERE.values()} <= set(examples())
    assert all(row.by in DEAD for row in ENGINE if row.by)
