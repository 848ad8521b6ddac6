"""Both levels side by side: the whole program on its board, and the law alone in the engine.

The engine's machine branches off the twin at one tick (`branch`); both then meet the same
events at the same ticks. What the program adds to its law is all that may differ: flash that is
written while dark holds its ticks off, and its main loop had its last turn just before a stop.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from diodewright.rehearse.use import dark_A, tally_values
from diodewright.sim import Event, Machine, new_tally
from diodewright.sim.seam import BOARD_LEVEL, BOARD_MUX, RAW_CHANNEL, RAW_LEVEL
from diodewright.twin.twin import Twin

__all__ = ["ON_BOARD", "Meeting", "branch", "side_by_side", "translated"]

_CHANNELS = 5
#: The engine's own words for what befalls a board -> the twin's.
ON_BOARD = {
    "board.tick_dead": "chip.timer_dead",
    "board.tick_stride": "chip.stride",
    "board.main_stopped": "chip.main_starved",
    "board.mux_stuck": "chip.mux_stuck",
    "board.mux_low": "chip.mux_low",
    "board.mux_late": "chip.mux_late",
    "board.mux_swapped": "chip.mux_swapped",
}


@dataclass(frozen=True)
class Meeting:
    """What both levels showed over the same ticks.

    Attributes
    ----------
    ticks : how many were compared.
    differ : ticks from the branch [ms] at which mode, drive or first cause differ.
    first : both sides in words at the first of them, "" where there is none.
    furthest_A : largest difference of the true diode current [A].
    modes : the modes that the law went through, in their order.
    board, alone : what the judge would see of either level, a Tally from the branch on.
    """

    ticks: int
    differ: tuple[int, ...]
    first: str
    furthest_A: float
    modes: tuple[str, ...]
    board: dict[str, float]
    alone: dict[str, float]


def translated(event: Event) -> Event:
    """Return the twin's event for one of the engine's.

    Raises
    ------
    KeyError
        The board has no such thing.
    """
    if event.target.startswith("board."):
        return replace(event, target=ON_BOARD[event.target])
    return event


def branch(twin: Twin) -> Machine:
    """Let one tick pass; return the machine, law and plant, as it was just before that tick.

    It runs in the compiled engine from there, at its tick 0, with no program around its law.

    Raises
    ------
    RuntimeError
        The law does not run.
    """
    machine, arrays = twin.part()
    for into, values in zip(
        (machine.state, machine.limits, machine.readings, machine.raw), arrays, strict=True
    ):
        into[:] = values
    # the channel that is converted next, and the level asked for, as the program keeps them
    machine.board[BOARD_MUX] = (int(machine.raw[RAW_CHANNEL]) + 1) % _CHANNELS
    machine.board[BOARD_LEVEL] = machine.raw[RAW_LEVEL]
    return machine


def side_by_side(twin: Twin, events: Sequence[Event], ticks: int) -> Meeting:
    """Run `ticks` ticks on both levels from here with `events` (ticks from here, at least 1).

    Raises
    ------
    KeyError
        An event names a target that one of the levels has not.
    RuntimeError
        The law does not run on the twin.
    """
    if any(event.tick < 1 for event in events):
        raise ValueError("the branch itself takes tick 0")
    machine = branch(twin)
    tally = new_tally(machine.engine, dark_A(twin.build))
    twin.tally = new_tally(machine.engine, dark_A(twin.build))
    differ: list[int] = []
    modes: list[str] = []
    first, furthest_A = "", 0.0
    for tick in range(ticks):
        machine.run(tick + 1, tally, [event for event in events if event.tick == tick])
        ahead = [translated(event) for event in events if event.tick == tick + 1]
        look = twin.run(1, [replace(event, tick=0) for event in ahead])[0]
        if _law_of(machine) != (look.mode, round(64_000 * look.drive_A), look.cause):
            first = first or f"tick {tick}: law alone {_law_of(machine)}, on the board {look}"
            differ.append(tick)
        furthest_A = max(furthest_A, abs(look.diode_A - machine.true("diode_A")))
        if look.mode and (not modes or modes[-1] != look.mode):
            modes.append(look.mode)
    return Meeting(
        ticks,
        tuple(differ),
        first,
        furthest_A,
        tuple(modes),
        tally_values(twin.tally),
        tally_values(tally),
    )


def _law_of(machine: Machine) -> tuple[str, int, str | None]:
    return machine.mode(), machine.word("drive"), machine.cause()
