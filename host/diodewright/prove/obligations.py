"""Every obligation, in the order in which they are shown."""

from collections.abc import Iterator
from difflib import get_close_matches

from diodewright.prove.claims_dark import DARK
from diodewright.prove.claims_drive import DRIVE
from diodewright.prove.claims_light import LIGHT
from diodewright.prove.claims_rows import ROWS
from diodewright.prove.claims_words import WORDS
from diodewright.prove.invariants import KEPT
from diodewright.prove.obligation import Obligation

__all__ = ["OBLIGATIONS", "UnknownObligation", "chosen", "obligation_of"]

OBLIGATIONS: tuple[Obligation, ...] = (*KEPT, *DARK, *ROWS, *DRIVE, *LIGHT, *WORDS)


class UnknownObligation(ValueError):
    """No such obligation; names the nearest."""


def obligation_of(name: str) -> Obligation:
    """Return the obligation of that id; UnknownObligation with the nearest names."""
    for obligation in OBLIGATIONS:
        if obligation.id == name:
            return obligation
    near = get_close_matches(name, [each.id for each in OBLIGATIONS], 3, 0.4)
    raise UnknownObligation(f"no obligation {name!r}; nearest: {', '.join(near) or 'none'}")


def chosen(ids: list[str] | None) -> Iterator[Obligation]:
    """Yield the obligations of `ids`, all where None."""
    yield from OBLIGATIONS if ids is None else (obligation_of(name) for name in ids)
