"""The matrix of faults: what it runs, what it reaches, and that it can fail."""

from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import pytest

from diodedriver import words
from diodewright.build import load
from diodewright.faults import ENGINE, Fault, by_id
from diodewright.rehearse import Stand, matrix, run_case, snapshots
from diodewright.rehearse.case_id import At, joined, parse_case
from diodewright.rehearse.cases import cases_of, lacks
from diodewright.sim import compiled, law_hash, machine

BUILD = load("smoke_tunnel")


@pytest.fixture(scope="module")
def taken() -> dict[str, Stand]:
    return snapshots(BUILD, compiled(), 1)


@pytest.fixture(scope="module")
def found(taken: dict[str, Stand]) -> list:
    with ThreadPoolExecutor(2) as pool:
        return list(matrix.singles(BUILD, taken, 1, pool=pool))


def test_the_default_run_reaches_modes_faults_rows_and_actors(found: list) -> None:
    """What a generated run reached, printed; it fails where that is too little."""
    reached = {
        "faults": len({case.id for case in found}),
        "moments": len({case.at for case in found}),
        "first causes": sorted({case.cause for case in found} - {None}),
        "verdicts": dict(Counter(case.verdict for case in found)),
        "actors": dict(Counter(case.reaction.partition(":")[0] for case in found)),
    }
    print(f"{len(found)} cases, seed 1: {reached}")
    assert len(found) >= 1000
    assert reached["faults"] == sum(any(cases_of(BUILD, row, ("steady",))) for row in ENGINE)
    assert set(reached["verdicts"]) >= {"law", "hardware", "harmless"}
    # not by single faults of the circuit: each of these is broken at the law's own desk
    rows = {name for name, *_ in words.FAULTS}
    assert rows - set(reached["first causes"]) <= {
        *("stuck", "junction", "stale", "charged", "hot", "pack_low")
    }


def test_every_single_fault_survives_at_every_moment(found: list) -> None:
    assert [f"{case.id}@{case.at}: {case.why}" for case in found if not case.survives] == []


def test_every_pair_with_a_dead_guard_survives(taken: dict[str, Stand]) -> None:
    with ThreadPoolExecutor(2) as pool:
        pairs = list(matrix.pairs(BUILD, taken, 1, pool=pool))
    guards = {case.id.partition(",")[0] for case in pairs}
    print(f"{len(pairs)} pairs; guards that die unseen: {sorted(guards)}")
    assert guards == {row.id for row in ENGINE if row.guard == "latent" and not lacks(BUILD, row)}
    assert [f"{case.id}@{case.at}: {case.why}" for case in pairs if not case.survives] == []


@pytest.mark.parametrize(
    ("without", "case_id"),
    [
        ("comparator", "stage-full-on@steady"),
        ("dynamic-enable", "ticks-dead@steady"),
        ("cutoff-A", "stage-full-on@steady"),
    ],
)
def test_without_its_part_the_fault_that_only_hardware_can_end_harms(
    taken: dict[str, Stand], without: str, case_id: str
) -> None:
    fault, at = parse_case(case_id)
    whole = run_case(BUILD, taken[at.moment], fault, at, 1).finding
    lacking = run_case(BUILD, taken[at.moment], matrix.deprived(fault, (without,)), at, 1).finding
    assert whole.verdict == "hardware"
    assert lacking.verdict in ("damaged", "missed"), lacking.why


def test_a_pair_breaks_the_guard_before_the_use_and_then_the_part(
    taken: dict[str, Stand],
) -> None:
    dead = replace(by_id("overcurrent-dead"), guard="latent")
    both = joined(dead, by_id("stage-full-on"))
    case = run_case(BUILD, taken["steady"], both, "steady", 1).finding
    assert case.id == "overcurrent-dead,stage-full-on"
    assert case.verdict == "damaged"
    assert case.peak_current_A > BUILD.diode.absolute_A


def test_a_fault_that_is_mended_in_time_leaves_the_light_lit(taken: dict[str, Stand]) -> None:
    fault = by_id("diode-short")
    blink = run_case(BUILD, taken["steady"], fault, "steady~1", 1).finding
    stays = run_case(BUILD, taken["steady"], fault, "steady~50", 1).finding
    assert (blink.survives, blink.cause) == (True, None)
    assert (stays.survives, stays.cause) == (True, "short")


def test_mending_puts_back_what_was_there_not_a_default(taken: dict[str, Stand]) -> None:
    """The trip stands at the highest of its band in fault cases, not at the parameter's default."""
    own_A = taken["steady"].machine.peek("plant.trip_A")
    moved = Fault("trip", "comparator", "drifts", (("plant.trip_A", 50.0),), "holds", None, "law")
    run = run_case(BUILD, taken["steady"], moved, "steady~20", 1, traced=True)
    assert own_A == BUILD.comparator.trip_max_A
    assert run.finding.survives
    assert run.trace is not None
    assert any("mended" in said for _, said in run.trace.events)


def test_phases_differ_and_are_all_of_the_multiplexer(taken: dict[str, Stand]) -> None:
    """A mux channel is read every fifth tick: when it is seen depends on the phase."""
    fault = by_id("mount-ntc-open")
    dark_ms = {
        later: run_case(BUILD, taken["steady"], fault, At("steady", later), 1).finding
        for later in range(6)
    }
    times = [round(case.time_to_dark_ms or -1) for case in dark_ms.values()]
    print("time to dark [ms] at phases 0 to 5:", times)
    assert len(set(times[:5])) > 1
    assert times[0] == times[5]


def test_the_same_case_on_the_plain_engine_gives_the_same_finding(
    taken: dict[str, Stand],
) -> None:
    """Without the compiler: the same bits, only slowly."""
    here = taken["steady"]
    numbers = here.machine.__reduce__()[1][2]
    slow = machine._arrived("python", law_hash(), numbers, here.machine.now, 4)
    for name in ("stage-full-on", "monitor-drift", "key-off"):
        fault = replace(by_id(name), watch_s=0.7)
        compiled_one = run_case(BUILD, here, fault, "steady", 1)
        plain_one = run_case(BUILD, replace(here, machine=slow), fault, "steady", 1)
        assert plain_one.finding == compiled_one.finding, name
        assert plain_one.findings == compiled_one.findings


def test_all_is_the_default_and_every_phase_and_mending(taken: dict[str, Stand]) -> None:
    every = [f"{fault.id}@{at}" for fault, at in matrix._single_jobs(BUILD, taken, True)]
    default = [f"{fault.id}@{at}" for fault, at in matrix._single_jobs(BUILD, taken, False)]
    assert len(set(every)) == len(every) >= 8_000
    assert set(default) <= set(every)
    for name in every[:: len(every) // 50]:
        fault, at = parse_case(name)
        assert f"{fault.id}@{at}" == name
