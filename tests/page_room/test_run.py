"""A live run: the same acts give the same bits, however it was sliced, watched and scrubbed."""

from dataclasses import replace

import msgspec
import numpy as np
import pytest

from diodewright.build import load
from diodewright.faults import ENGINE
from diodewright.page.hands import NotDone
from diodewright.page.problems import PageError
from diodewright.page.run import LiveRun, again, read_kept, state_hash
from diodewright.sim import compiled, new_tally


@pytest.fixture(scope="module")
def begun() -> LiveRun:
    return LiveRun.begun(load("smoke_tunnel"), compiled(), 7)


@pytest.fixture
def run(begun: LiveRun) -> LiveRun:
    return replace(begun)


def _used(run: LiveRun) -> LiveRun:
    """A use with a fault that comes back by itself, one that is mended, and a warm day."""
    run.run(137)
    run.do("set", "trigger", 1)
    run.run(6000, every=True)
    run.do("set", "ambient", 41)
    run.run(1)
    run.do("break", "lead-ohmic")
    run.run(777)
    run.do("mend", "lead-ohmic")
    run.do("break", "connector-bounce")
    run.run(3)
    run.do("set", "trigger", 0)
    run.run(500, every=True)
    return run


def test_a_kept_run_gives_the_same_bits_again(run: LiveRun) -> None:
    kept = _used(run).kept()
    written = msgspec.json.encode(kept)
    second = again(run.build, run.engine, read_kept(written, "run.json"))
    assert state_hash(second.machine) == state_hash(run.machine) == kept.state
    assert second.kept() == kept


def test_its_events_alone_give_the_same_bits_in_one_go(run: LiveRun) -> None:
    _used(run)
    machine = run.origin.copy()
    machine.run(run.now, new_tally(run.engine, 0.01), run.hands.events)
    assert state_hash(machine) == state_hash(run.machine)


def test_looking_at_every_tick_changes_nothing(run: LiveRun, begun: LiveRun) -> None:
    other = replace(begun)
    for each, every in ((run, True), (other, False)):
        each.do("set", "trigger", 1)
        shown = each.run(1234, every)
        assert (len(shown) == 1234) is every
    assert state_hash(run.machine) == state_hash(other.machine)


def test_what_makes_every_tick_shown_is_moved_by_no_fault_and_no_hand(run: LiveRun) -> None:
    moved = {target for fault in ENGINE for target, _ in fault.changes}
    moved |= {control.target for control in run.hands.controls.values()}
    assert "plant.cells_parallel" not in moved


@pytest.mark.parametrize("tick", [0, 1, 137, 138, 2999, 6137, 7000])
def test_scrubbing_back_and_on_again_ends_at_the_same_bits(run: LiveRun, tick: int) -> None:
    _used(run)
    end, bits = run.now, state_hash(run.machine)
    run.seek(tick)
    assert run.now == min(tick, end)
    run.run(end - run.now)
    assert (run.now, state_hash(run.machine)) == (end, bits)


def test_an_act_in_the_past_drops_what_came_after_it(run: LiveRun) -> None:
    _used(run)
    run.seek(3000)
    assert run.present().held["trigger"] == 1.0
    run.do("set", "trigger", 0)
    assert [act.tick for act in run.hands.acts] == [137, 3000]
    assert run.end == 3000
    run.run(2000)
    assert run.machine.mode() == "dark"


def test_behind_a_new_act_in_the_past_scrubbing_shows_the_new_run(run: LiveRun) -> None:
    _used(run)
    run.seek(3000)
    run.do("set", "trigger", 0)
    run.run(4000)
    run.seek(6500)  # behind a snapshot of the run that was dropped
    machine = run.origin.copy()
    machine.run(6500, new_tally(run.engine, 0.01), run.hands.events)
    assert state_hash(machine) == state_hash(run.machine)


def test_a_refused_act_in_the_past_drops_nothing(run: LiveRun) -> None:
    _used(run)
    acts = list(run.hands.acts)
    run.seek(3000)
    with pytest.raises(NotDone, match="no_such"):
        run.do("break", "no_such")
    assert run.hands.acts == acts


def test_what_is_shown_again_is_what_was_shown(run: LiveRun) -> None:
    run.do("set", "trigger", 1)
    first = run.run(2500)
    second = run.shown(0)
    both = np.intersect1d(first["time_s"], second["time_s"])
    assert len(both) > 100
    for name in ("diode_A", "current_read_A", "mount_degC", "mode"):
        of = [each[name][np.isin(each["time_s"], both)] for each in (first, second)]
        assert np.array_equal(*of), name


def test_the_saved_trace_carries_what_was_done_and_its_origin(run: LiveRun) -> None:
    trace = _used(run).tracing()()
    said = [text for _, text in trace.events]
    assert said[0] == "trigger pressed"
    assert "lead-ohmic" in said
    assert "connector-bounce: back" in said
    assert trace.provenance["seed"] == 7
    assert trace["time_s"][-1] <= run.now / 1000


def test_snapshots_do_not_grow_without_end(run: LiveRun) -> None:
    for _ in range(900):
        run.run(1000)
    assert len(run._snapshots) <= 400
    assert run._snapshots[0].tick == 0


@pytest.mark.parametrize(
    ("change", "match"),
    [
        ({"format": 2}, "format 2"),
        ({"fingerprint": "0" * 64}, "another build"),
        ({"law": "0" * 64}, "another law"),
        ({"seed": 8}, "end elsewhere"),
        ({"end": -1}, "end -1"),
        ({"acts": [{"tick": 0, "do": "break", "what": "nothing", "value": 0}]}, "can't fail"),
        ({"acts": []}, "other events"),
        ({"acts": "none"}, "no kept run"),
    ],
)
def test_a_kept_run_that_is_not_this_one_is_refused(
    run: LiveRun, change: dict[str, object], match: str
) -> None:
    run.do("set", "trigger", 1)
    run.run(200)
    document = msgspec.to_builtins(run.kept()) | change
    with pytest.raises(PageError, match=match):
        again(run.build, run.engine, read_kept(msgspec.json.encode(document), "run.json"))
