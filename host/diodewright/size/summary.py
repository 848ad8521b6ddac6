"""The size summary: what a build draws, gives and endures at its highest level, topic by topic.

Every physical equation is the plant's, called; this room only asks at which point. What the
figures leave out is stated beside them. They are typical values, not corners, but where they say
so; nothing is judged here.
"""

from collections.abc import Callable, Mapping

from diodewright.build import Build
from diodewright.size.contacts import contacts
from diodewright.size.electrical import electrical
from diodewright.size.figure import Figure
from diodewright.size.life import life
from diodewright.size.optical import optical
from diodewright.size.pack import pack
from diodewright.size.survey import Survey, survey
from diodewright.size.thermal import thermal
from diodewright.size.wiring import wiring

__all__ = ["size", "topics"]

_TOPICS: Mapping[str, Callable[[Build, Survey], list[Figure]]] = {
    "electrical": electrical,
    "light": lambda build, found: optical(build, found.cool),
    "heat": thermal,
    "pack": pack,
    "contacts": contacts,
    "wiring": wiring,
    "life": life,
}


def topics(build: Build) -> dict[str, list[Figure]]:
    """Return topic -> figures of `build`, both in the order they are printed.

    Raises
    ------
    DerivedError
        The build gives a settings word that the board would refuse.
    """
    found = survey(build)
    return {name: figures(build, found) for name, figures in _TOPICS.items()}


def size(build: Build) -> tuple[Figure, ...]:
    """Return every size figure of `build`, in the order of `topics`."""
    return tuple(figure for figures in topics(build).values() for figure in figures)
