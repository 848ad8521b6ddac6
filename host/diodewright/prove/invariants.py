"""Named invariants: what every state has that a tick leaves behind, and the first one too."""

from collections.abc import Callable, Mapping

from diodedriver import words
from diodewright.prove import terms
from diodewright.prove.obligation import Obligation
from diodewright.prove.terms import Bool
from diodewright.prove.view import MODE, ROW, View, implies, within

__all__ = ["INVARIANTS", "KEPT", "assumed"]

Word = Callable[[str], terms.Int]


def _dark(word: Word) -> Bool:
    lit = within(word("mode"), MODE["start"], MODE["limited"])
    dark = terms.all_of(
        (
            terms.eq(word("drive"), 0),
            terms.eq(word("ramp"), 0),
            terms.eq(word("duty"), 0),
        )
    )
    return implies(terms.negate(lit), dark)


def _trim(word: Word) -> Bool:
    settled = within(word("mode"), MODE["run"], MODE["limited"])
    first = terms.eq(word("mode"), MODE["boot"])
    return terms.any_of((settled, first, terms.eq(word("trim"), words.TRIM_BIAS)))


def _gated(word: Word) -> Bool:
    whole = terms.scale(word("start_mA"), 64)
    fixed = terms.any_of((terms.eq(word("drive"), 0), terms.eq(word("drive"), whole)))
    return implies(terms.le(1, word("gate_mA")), fixed)


def _lamp(word: Word) -> Bool:
    closing = terms.eq(word("mode"), MODE["close"])
    long = terms.le(word("delay_ticks"), word("lamp_ticks"))
    sick = terms.eq(terms.mod(terms.shr(word("suspect"), ROW["indicator"]), 2), 1)
    return implies(closing, terms.any_of((long, sick)))


def _start(word: Word) -> Bool:
    return implies(terms.eq(word("mode"), MODE["start"]), terms.eq(word("ramp"), 0))


def _caused(word: Word) -> Bool:
    none = terms.eq(word("faults"), 0)
    return terms.pick_truth(none, terms.eq(word("cause"), 0), terms.le(1, word("cause")))


#: name -> (meaning, what it says of the state's words by name)
INVARIANTS: Mapping[str, tuple[str, Callable[[Word], Bool]]] = {
    "dark": (
        "outside of start, soft-start, run and limited: drive 0, duty 0, ramp at its begin",
        _dark,
    ),
    "trim": ("no trim outside of run and limited (and the very first tick)", _trim),
    "start": ("in mode start the ramp is at its begin", _start),
    "gated": ("a gated stage is driven at 0 or its start level", _gated),
    "lamp": (
        "in mode close the indicator was healthy for the delay, or isn't in this tick",
        _lamp,
    ),
    "caused": ("a first cause is kept exactly while any row is latched", _caused),
}


def _words(view: View, then: bool) -> Word:
    """Return the reader of state words and limits by name, before or after the tick."""
    names = {row[0] for row in words.STATE}
    state = view.then if then else view.s
    return lambda name: state(name) if name in names else view.limit(name)


def assumed(view: View) -> list[Bool]:
    """Return every invariant of the state before the tick."""
    return [says(_words(view, then=False)) for _, says in INVARIANTS.values()]


def _keeps(says: Callable[[Word], Bool]) -> Callable[[View], Bool]:
    return lambda view: says(_words(view, then=True))


def _first(view: View) -> Bool:
    first = {row[0]: value for row, value in zip(words.STATE, words.first_state(), strict=True)}

    def word(name: str) -> terms.Int:
        return first[name] if name in first else view.limit(name)

    dark = [terms.eq(first[name], 0) for name in ("drive", "enable", "ready", "mode")]
    return terms.all_of((*dark, *(says(word) for _, says in INVARIANTS.values())))


KEPT = (
    Obligation(
        "first-state", "the first state is dark, not ready, and keeps every invariant", _first
    ),
    *(
        Obligation(f"keeps-{name}", f"kept by every tick: {meaning}", _keeps(says))
        for name, (meaning, says) in INVARIANTS.items()
    ),
)
