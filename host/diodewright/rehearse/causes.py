"""The law's first cause in a builder's words, and what it means where nothing was broken."""

from diodedriver import words
from diodewright.judge import Finding

__all__ = ["cause_words", "false_trip"]

#: What helps where a healthy use latches a row; other rows: a wider guard band.
FALSE_TRIP_MENDS = {
    "latch": "the comparator trips on a healthy light: less overshoot at the start, a higher trip "
    "or a lower level",
    "follow": "a faster stage or a longer soft-start",
    "pack_min": "a pack of less resistance, a lower level or an earlier cutback",
    "hot": "a better heat path, or a wider band from cutback to trip",
    "junction": "a better heat path, or a wider band from cutback to trip",
}


def cause_words(cause: str | None) -> tuple[str, str]:
    """Return the law's first cause in words and how it clears; ("", "") for none."""
    for name, rule, _, _, condition in words.FAULTS:
        if name == cause:
            return condition, dict(words.RULES)[rule]
    return "", ""


def false_trip(cause: str | None) -> Finding:
    """Return the finding on what latched in a use with nothing broken; an empty pack may."""
    tripped = cause is not None and cause != "pack_low"
    meaning, mend = "nothing latches in healthy use", ""
    if tripped:
        meaning += f": {cause}, {cause_words(cause)[0]}"
        mend = FALSE_TRIP_MENDS.get(str(cause), "a wider guard band for that row")
    return Finding(
        id="no-false-trip",
        status="fails" if tripped else "holds",
        value=float(tripped),
        limit=0.0,
        unit="latched",
        sense="at_most",
        margin=None,
        meaning=meaning,
        mend=mend,
    )
