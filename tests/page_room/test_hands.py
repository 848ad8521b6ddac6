"""What a hand does: what has failed does not follow it, and mended stands where the hand is."""

from collections.abc import Callable

import pytest

from diodewright.build import examples, load
from diodewright.page.hands import Act, Hands, NotDone, breakable, controls_of
from diodewright.page.run import LiveRun
from diodewright.sim import compiled


@pytest.fixture
def hands() -> Callable[..., Hands]:
    def make(name: str = "smoke_tunnel") -> Hands:
        return Hands(load(name), lambda target: {"plant.key": 1.0}.get(target, 0.0))

    return make


def _written(hands: Hands) -> list[tuple[int, str, float]]:
    return [(event.tick, event.target, event.value) for event in hands.events]


def test_a_press_is_one_event_with_its_words(hands: Callable[..., Hands]) -> None:
    hand = hands()
    hand.act(Act(5, "set", "trigger", 1))
    (event,) = hand.events
    assert (event.tick, event.target, event.value) == (5, "plant.trigger", 1.0)
    assert event.text == "trigger pressed"


def test_of_two_faults_of_one_part_mending_one_leaves_the_other(
    hands: Callable[..., Hands],
) -> None:
    hand = hands()
    target = "plant.diode_open"
    hand.act(Act(0, "break", "diode-open"))
    hand.act(Act(1, "break", "connector-bounce"))
    hand.act(Act(2, "mend", "connector-bounce"))
    assert _written(hand) == [(0, target, 1.0), (1, target, 1.0), (2, target, 1.0)]
    hand.act(Act(3, "mend", "diode-open"))
    assert _written(hand)[-1] == (3, target, 0.0)


def test_what_comes_back_by_itself_leaves_another_fault_of_that_part(
    hands: Callable[..., Hands],
) -> None:
    hand = hands()
    hand.act(Act(0, "break", "diode-open"))
    hand.act(Act(1, "break", "connector-bounce"))
    assert _written(hand)[-1] == (6, "plant.diode_open", 1.0)


def test_alone_it_comes_back_as_the_catalogue_says() -> None:
    run = LiveRun.begun(load("smoke_tunnel"), compiled(), 1)
    run.do("set", "trigger", 1)
    for fault in run.hands.faults.values():
        hand = run.hands.again(run.hands.acts)
        hand.act(Act(0, "break", fault.id))
        back = [(e.target, e.value) for e in hand.events if e.text == f"{fault.id}: back"]
        assert back == [(target, value) for _, target, value in fault.restores], fault.id


@pytest.mark.parametrize("held", [0.0, 1.0])
def test_a_bouncing_trigger_comes_back_to_where_the_hand_has_it(
    hands: Callable[..., Hands], held: float
) -> None:
    hand = hands()
    if not held:
        hand.act(Act(0, "set", "trigger", 1))
    hand.act(Act(5, "break", "trigger-bounce"))
    hand.act(Act(6, "set", "trigger", held))
    last = max(hand.events, key=lambda event: event.tick)
    assert (last.target, last.value) == ("plant.trigger", held)


def test_a_key_that_has_failed_does_not_follow_the_hand_and_mended_stands_where_it_is(
    hands: Callable[..., Hands],
) -> None:
    hand = hands()
    failed = next(fault for fault in hand.faults.values() if ("plant.key", 0) in fault.changes)
    hand.act(Act(0, "break", failed.id))
    before = len(hand.events)
    hand.act(Act(1, "set", "key", 0))
    hand.act(Act(2, "set", "key", 1))
    assert len(hand.events) == before
    hand.act(Act(3, "mend", failed.id))
    assert (3, "plant.key", 1.0) in _written(hand)


def test_mending_takes_back_what_would_have_come_back_by_itself(
    hands: Callable[..., Hands],
) -> None:
    hand = hands()
    hand.act(Act(10, "break", "connector-bounce"))
    hand.act(Act(12, "mend", "connector-bounce"))
    assert _written(hand) == [(10, "plant.diode_open", 1.0), (12, "plant.diode_open", 0.0)]


def test_what_is_over_by_itself_is_not_broken_any_more(hands: Callable[..., Hands]) -> None:
    hand = hands()
    hand.act(Act(10, "break", "connector-bounce"))
    hand.settle(15)
    assert "connector-bounce" in hand.broken
    hand.settle(16)
    assert not hand.broken


@pytest.mark.parametrize(
    ("act", "match"),
    [
        (Act(0, "set", "trigger", 0), "released already"),
        (Act(0, "set", "trigger", 0.5), "whole"),
        (Act(0, "set", "trigger", 2), "allowed 0 to 1"),
        (Act(0, "set", "ambient", 1e9), "allowed -10 to 55"),
        (Act(0, "set", "nothing", 1), "no nothing"),
        (Act(0, "break", "nothing"), "can't fail"),
        (Act(0, "mend", "diode-open"), "not broken"),
        (Act(0, "light", "diode"), "no such act"),
    ],
)
def test_what_makes_no_sense_is_refused_and_changes_nothing(
    hands: Callable[..., Hands], act: Act, match: str
) -> None:
    hand = hands()
    with pytest.raises(NotDone, match=match):
        hand.act(act)
    assert not hand.events
    assert not hand.acts


@pytest.mark.parametrize("name", sorted(examples()))
def test_every_control_and_fault_of_every_build_can_be_done_and_undone(name: str) -> None:
    """Everything is broken and mended in one run: the plant's parameters end as they began."""
    build = load(name)
    run = LiveRun.begun(build, compiled(), 1)
    parameters = list(run.machine.p.flat)
    for fault in breakable(build):
        run.do("break", fault)
        run.run(7)
        if fault in run.present().broken:
            run.do("mend", fault)
        run.run(7)
    assert list(run.machine.p.flat) == parameters
    for control in controls_of(build):
        run.do("set", control.name, control.low if run.hands.held[control.name] else control.high)
        run.run(3)
