"""Why the proof leaves mutants alive that a claim at the desk or the tour notices, by group.

A group is a reason, with how the names of its mutants begin; of two beginnings that fit, the
longer decides.
"""

GROUPS: dict[str, tuple[str, ...]] = {
    "It keeps the light from coming, lets it rise later or takes more away than it must. The proof "
    "claims what must be dark; of light it claims only how a start that has begun goes on": (
        "advance_mode+4",
        "demand+",
        "heading+8",
        "put_out+5",
        "starved+4",
        "unlatch+9",
        "unlatch+23",
        "unlatch+24",
    ),
    "A wait or a clock: the proof looks at one tick and claims no length of boot, rest or light": (
        "advance_mode+20",
        "boot+",
        "tally_time+",
    ),
    "A word that tells and decides nothing further: a reason or a cap by its name, which of the "
    "two dark modes, what a latched row was seen with": (
        "advance_mode+6",
        "allow+15",
        "allow+17",
        "allow+24",
        "allow+29",
        "demand+13: 1 -> 0",
        "demand+14",
    ),
    "The size of an estimate, of a filter's step or of a cap between its two ends; the proof "
    "bounds them and claims their direction": (
        "allow+12",
        "allow+14",
        "first_look+",
        "hold_headroom+",
        "observe_heat+",
        "observe_stores+",
        "shape+",
    ),
    "Words behind a broken limit or a stray word: all that is claimed there is the dark, and words "
    "in range": ("black_out+", "guard+28"),
}


def group_of(name: str) -> str:
    """Return the reason of the group that a mutant is in; empty where it is in none."""
    fits = [
        (len(begin), reason)
        for reason, begins in GROUPS.items()
        for begin in begins
        if name.startswith(begin)
    ]
    return max(fits)[1] if fits else ""
