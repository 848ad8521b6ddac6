"""What the law says, in words, with the next step of whoever stands before the light.

The same words for a simulated light, a board and a recording: all that is needed is among the words
that a board sends by itself.
"""

from dataclasses import asdict, dataclass

from diodedriver import words
from diodewright.rehearse.causes import cause_words
from diodewright.report.watch_words import STATES

__all__ = ["Told", "latched", "told"]

#: Cap that binds -> why, and what helps.
_BOUND_WORDS = {
    "mount": ("the mount is warm", "let it cool, or give the sink more air"),
    "junction": ("the junction estimate is high", "let it cool, or ask for a lower level"),
    "budget": ("the heat budget is spent", "rest it, or ask for a lower level"),
    "pack": ("the pack runs low", "charge or change the pack"),
    "headroom": ("the pack is too close to the output", "charge or change the pack"),
}
#: Word of `HARD` -> what a person does, in the order in which it is done.
_HARD_NEXT = {
    "interlock open": "close the interlock",
    "key off": "turn the key on",
    "comparator latch": "it clears before the next light, or latches",
    "less allowed than a gated stage gives": "let it cool, or charge the pack",
}
#: Mode -> the next step where nothing is in its way.
_MODE_NEXT = {
    "boot": "wait a moment",
    "run": "let the trigger go to end",
    "barred": "restart the board once the reason is mended",
    "testing": "wait, with key and interlock closed and the trigger released",
}
_HOLD = "hold the trigger; let it go to end"


@dataclass(frozen=True)
class Told:
    """How the light stands.

    Attributes
    ----------
    mode : the law's mode by its name.
    says : what that means.
    row, cause : the first cause's row and its condition; "" for none.
    hint : what to do next.
    """

    mode: str
    says: str
    row: str
    cause: str
    hint: str

    def as_dict(self) -> dict[str, str]:
        """Return it as the page takes it."""
        return asdict(self)


def told(mode: str, hard: int = 0, bound: int = 0, cause: str | None = None, pins: int = 0) -> Told:
    """Return how a light stands in `mode`.

    Parameters
    ----------
    hard, bound, pins : the law's words of that name.
    cause : the first cause's row, None for none or unknown.
    """
    says = STATES.get(mode, "")
    condition, clears = cause_words(cause)
    if condition:
        return Told(mode, says, str(cause), condition, clears)
    if mode == "limited" and 0 < bound < len(words.BOUNDS):
        why, hint = _BOUND_WORDS[words.BOUNDS[bound]]
        return Told(mode, f"{says}: {why}", "", "", hint)
    return Told(mode, says, "", "", _next(mode, hard, pins))


def latched(bits: int) -> str | None:
    """Return the row of latched `bits` that goes first where nothing says which came first."""
    return next((row[0] for place, row in enumerate(words.FAULTS) if bits >> place & 1), None)


def _next(mode: str, hard: int, pins: int) -> str:
    """Return what a person does next where nothing has latched."""
    for bit, why in enumerate(words.HARD):
        if hard >> bit & 1 and why in _HARD_NEXT:
            return f"{why}: {_HARD_NEXT[why]}"
    if mode == "dark":
        return "let the trigger go, then press it afresh" if pins & 1 else "press the trigger"
    return _MODE_NEXT.get(mode, _HOLD)
