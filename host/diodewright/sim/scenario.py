"""Scenarios: what a person does and what breaks, as a table of events at stated ticks."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diodedriver import words
from diodewright.plant.params import PARAMS, STATE, index_of
from diodewright.sim import loop, seam

__all__ = ["BOARD", "Event", "address", "event_arrays", "lamp_use", "sorted_events"]

#: Board words that an event may change, by name.
BOARD: dict[str, int] = {
    "tick_stride": seam.BOARD_STRIDE,
    "tick_dead": seam.BOARD_DEAD,
    "main_stopped": seam.BOARD_MAIN_STOPPED,
    "level": seam.BOARD_LEVEL,
    "settings_bad": seam.BOARD_SETTINGS_BAD,
    "mux_stuck": seam.BOARD_MUX_STUCK,
    "mux_low": seam.BOARD_MUX_LOW,
    "mux_late": seam.BOARD_MUX_LATE,
    "mux_swapped": seam.BOARD_MUX_SWAPPED,
}
_PARAMS = index_of(PARAMS)
_STATE = index_of(STATE)


@dataclass(frozen=True, order=True)
class Event:
    """One change at one tick.

    Attributes
    ----------
    tick : when [ms].
    target : "plant.<param>", "true.<state>", "board.<word>", "limits.<word>" or "law.<word>".
    value : what is written; integer words take its whole part.
    text : what a person would say happened; "" keeps it out of Traces and figures.
    """

    tick: int
    target: str
    value: float
    text: str = ""


def address(target: str) -> tuple[int, int]:
    """Return the array and the place of `target`; KeyError with its name where there is none."""
    room, _, name = target.partition(".")
    try:
        if room == "plant":
            return loop.INTO_PARAMS, _PARAMS[name]
        if room == "true":
            return loop.INTO_STATE, _STATE[name]
        if room == "board":
            return loop.INTO_BOARD, BOARD[name]
        if room == "limits":
            return loop.INTO_LIMITS, words.index(words.LIMITS, name)
        if room == "law":
            return loop.INTO_LAW, words.index(words.STATE, name)
    except KeyError as error:
        raise KeyError(f"event target {target!r}: no such word") from error
    raise KeyError(f"event target {target!r}: no such room")


def sorted_events(events: Iterable[Event]) -> tuple[Event, ...]:
    """Return `events` in the order in which they happen; ties keep their order."""
    return tuple(sorted(events, key=lambda event: event.tick))


def event_arrays(
    events: Sequence[Event],
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64], NDArray[np.float64]]:
    """Return tick, array, place and value of sorted `events`, as the loop takes them."""
    addresses = [address(event.target) for event in events]
    return (
        np.array([event.tick for event in events], dtype=np.int64),
        np.array([what for what, _ in addresses], dtype=np.int64),
        np.array([place for _, place in addresses], dtype=np.int64),
        np.array([event.value for event in events], dtype=np.float64),
    )


def lamp_use(press_tick: int, release_tick: int) -> tuple[Event, ...]:
    """Return a plain use: trigger pressed, held and released."""
    return (
        Event(press_tick, "plant.trigger", 1.0, "trigger pressed"),
        Event(release_tick, "plant.trigger", 0.0, "trigger released"),
    )
