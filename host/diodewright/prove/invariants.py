"""Named invariants: what every state has that a tick leaves behind, and the first one too."""

from collections.abc import Callable, Mapping

from diodedriver import words
from diodewright.prove import terms
from diodewright.prove.terms import Bool
from diodewright.prove.view import MODE, View, implies, within

__all__ = ["INVARIANTS", "assumed"]

Word = Callable[[str], terms.Int]


def _dark(word: Word) -> Bool:
    lit = within(word("mode"), MODE["start"], MODE["limited"])
    dark = terms.all_of(
        (
            terms.eq(word("drive"), 0),
            terms.eq(word("trim"), words.TRIM_BIAS),
            terms.eq(word("ramp"), 0),
            terms.eq(word("duty"), 0),
        )
    )
    return implies(terms.negate(lit), dark)


def _caused(word: Word) -> Bool:
    none = terms.eq(word("faults"), 0)
    return terms.pick_truth(none, terms.eq(word("cause"), 0), terms.le(1, word("cause")))


#: name -> (meaning, what it says of the state's words by name)
INVARIANTS: Mapping[str, tuple[str, Callable[[Word], Bool]]] = {
    "dark": (
        "outside of start, soft-start, run and limited: drive 0, duty 0, trim 0, ramp at its begin",
        _dark,
    ),
    "caused": ("a first cause is kept exactly while any row is latched", _caused),
}


def assumed(view: View) -> list[Bool]:
    """Return every invariant of the state before the tick."""
    return [says(view.s) for _, says in INVARIANTS.values()]
