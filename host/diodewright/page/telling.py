"""What the law says, in words, with the next step of whoever stands before the light.

The same words for a simulated light, a board and a recording: all that is needed is among the words
that a board sends by itself.
"""

from dataclasses import dataclass

from diodedriver import words
from diodewright.rehearse.causes import cause_words

__all__ = ["Told", "told"]

_MEANING = dict(words.MODES)
_BOUND_WORDS = {
    "mount": ("the mount is warm", "let it cool, or give the sink more air"),
    "junction": ("the junction estimate is high", "let it cool, or ask for a lower level"),
    "budget": ("the heat budget is spent", "rest it, or ask for a lower level"),
    "pack": ("the pack runs low", "charge or change the pack"),
    "headroom": ("the pack is too close to the output", "charge or change the pack"),
}
#: Bits of "hard", the order in which a person mends them.
_HARD_NEXT = (
    (1, "the interlock is open", "close the interlock"),
    (2, "the key is off", "turn the key on"),
    (8, "the comparator latch is set", "it clears by itself before the next light, or latches"),
    (64, "less is allowed than this stage gives", "let it cool, or charge the pack"),
)
#: Modes of a board whose law does not run.
_NO_LAW = {
    "barred": ("light is impossible until the next boot", "STATus:BARRed? says why"),
    "testing": ("the self-test runs, without light", "wait; it needs key and interlock closed"),
}


@dataclass(frozen=True)
class Told:
    """How the light stands.

    Attributes
    ----------
    mode : the law's mode by its name.
    says : what that means.
    cause : the first cause in words, "" for none; `row` is its name.
    hint : what to do next.
    """

    mode: str
    says: str
    row: str
    cause: str
    hint: str


def told(mode: str, hard: int = 0, bound: int = 0, cause: str | None = None, pins: int = 0) -> Told:
    """Return how a light stands in `mode`.

    Parameters
    ----------
    hard, bound, pins : the law's words of that name.
    cause : the first cause's row, None for none or unknown.
    """
    if mode in _NO_LAW:
        says, hint = _NO_LAW[mode]
        return Told(mode, says, "", "", hint)
    says = _MEANING.get(mode, "")
    condition, clears = cause_words(cause)
    if condition:
        return Told(mode, says, str(cause), condition, clears)
    if mode == "limited" and 0 < bound < len(words.BOUNDS):
        why, hint = _BOUND_WORDS[words.BOUNDS[bound]]
        return Told(mode, f"{says}: {why}", "", "", hint)
    return Told(mode, says, "", "", _next(mode, hard, pins))


def _next(mode: str, hard: int, pins: int) -> str:
    """Return what a person does next where nothing has latched."""
    for bit, why, hint in _HARD_NEXT:
        if hard & bit:
            return f"{why}: {hint}"
    if mode == "dark":
        return "let the trigger go, then press it afresh" if pins & 1 else "press the trigger"
    return {"boot": "wait a moment", "run": "let the trigger go to end"}.get(
        mode, "hold the trigger; let it go to end"
    )
