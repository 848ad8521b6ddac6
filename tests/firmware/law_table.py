"""The law's state machine as one table, and every case it answers for.

A row of TRANSITIONS is (modes, condition, next mode); the first whose condition holds decides.
`cases` enumerates every mode with every combination of condition bits, reachable or not.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import product

from diodedriver import words

LIT = ("start", "soft_start", "run", "limited")
MODES = tuple(name for name, _ in words.MODES)
PACK_ROWS = {row[0] for row in words.FAULTS if row[1] == "rest"}
# One latched row of each rule, a pair of two rules, and none.
LATCHED = (
    (),
    ("late",),
    ("open",),
    ("pack_low",),
    ("settings",),
    ("late", "pack_min"),
    ("short", "pack_low"),
)


@dataclass(frozen=True)
class Case:
    """A mode and its condition bits, as they stand before the tick.

    Attributes
    ----------
    trigger, key, interlock, comparator : pins, in this tick.
    ready : a release was seen.
    opened : interlock or key was open since a row last latched or cleared.
    latched : rows latched, their conditions gone.
    rested : dark for long enough, the pack above re-arm.
    waited : the wait of this mode is over.
    charged : the output holds a voltage.
    capped : some cap lies below the level asked for.
    auto_off : lit for as long as one press may.
    gated : the stage has no partial current; capped starves it.
    ill : the indicator was ill since its delay ended (asked in close only).
    """

    mode: str
    trigger: bool
    key: bool
    interlock: bool
    comparator: bool
    ready: bool
    opened: bool
    latched: tuple[str, ...]
    rested: bool
    waited: bool
    charged: bool
    capped: bool
    auto_off: bool
    gated: bool
    ill: bool

    @property
    def left(self) -> set[str]:
        """Rows still latched once this tick has latched and cleared what it may."""
        rules = {row[0]: row[1] for row in words.FAULTS}
        closed = self.key and self.interlock
        latches = self.comparator and self.mode in ("close", *LIT)
        clears = set()
        if not self.trigger:
            clears.add("release")
            if self.opened and closed and not latches:
                clears.add("interlock")
            if self.rested:
                clears.add("rest")
        left = {row for row in self.latched if rules[row] not in clears}
        if latches:
            left.add("latch")
        return left

    @property
    def starved(self) -> bool:
        """A gated stage is allowed too little; at boot the budget always stands at its cap."""
        return self.gated and (self.capped or self.mode == "boot")

    @property
    def hard(self) -> set[str]:
        """Reasons to be dark in this tick, as words.HARD names them."""
        return {
            name
            for name, holds in (
                ("interlock open", not self.interlock),
                ("key off", not self.key),
                ("trigger released", not self.trigger),
                ("comparator latch", self.comparator and self.mode in ("close", *LIT)),
                ("latched", bool(self.left)),
                ("boot", self.mode == "boot"),
                ("less allowed than a gated stage gives", self.starved),
            )
            if holds
        }


_ANY = " ".join(MODES)
TRANSITIONS: tuple[tuple[str, str, str], ...] = (
    (_ANY, "a row other than a pack row is latched", "fault"),
    (_ANY, "a pack row is latched", "pack_low"),
    ("boot", "a channel is unread, or the allowed age has not passed", "boot"),
    ("boot", "every channel was read", "dark"),
    ("pack_low fault", "nothing is latched any more", "dark"),
    ("dark delay close start soft_start run limited", "there is a hard reason", "dark"),
    ("dark", "a release was seen before this press", "delay"),
    ("delay", "the indicator was healthy for the whole delay", "close"),
    ("close", "the indicator fell ill behind its delay", "delay"),
    ("close", "the latch was reset and the output is empty", "start"),
    ("start soft_start run limited", "lit for as long as one press may", "dark"),
    ("start", "the stage's own start-up is over", "soft_start"),
    ("soft_start", "the ramp is at its end", "run"),
    ("run", "a cap lies below the level asked for", "limited"),
    ("limited", "no cap does", "run"),
)
CONDITIONS: dict[str, Callable[[Case], bool]] = {
    "a row other than a pack row is latched": lambda case: bool(case.left - PACK_ROWS),
    "a pack row is latched": lambda case: bool(case.left),
    "a channel is unread, or the allowed age has not passed": lambda case: not case.waited,
    "every channel was read": lambda case: True,
    "nothing is latched any more": lambda case: True,
    "there is a hard reason": lambda case: bool(case.hard),
    "a release was seen before this press": lambda case: case.ready,
    "the indicator was healthy for the whole delay": lambda case: case.waited,
    "the indicator fell ill behind its delay": lambda case: case.ill,
    "the latch was reset and the output is empty": lambda case: case.waited and not case.charged,
    "lit for as long as one press may": lambda case: case.auto_off,
    "the stage's own start-up is over": lambda case: case.waited,
    "the ramp is at its end": lambda case: case.waited,
    "a cap lies below the level asked for": lambda case: case.capped,
    "no cap does": lambda case: not case.capped,
}


def cases() -> Iterator[Case]:
    """Yield every mode with every combination of the bits that it looks at."""
    bits = (False, True)
    for mode, *values in product(MODES, *([bits] * 6), LATCHED, *([bits] * 6)):
        for ill in bits if mode == "close" else bits[:1]:
            yield Case(mode, *values, ill)


def next_mode(case: Case) -> str:
    """Return the mode that the table gives."""
    for modes, condition, then in TRANSITIONS:
        if case.mode in modes.split() and CONDITIONS[condition](case):
            return then
    return case.mode
