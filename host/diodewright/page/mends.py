"""Which slider mends what: a constraint that fails is told where it can be mended."""

import re
from collections.abc import Sequence

from diodewright.build import Build
from diodewright.tune import Constraint

__all__ = ["GROUPS", "group_of", "said_of", "slider_of", "slider_of_text"]

_PATH = re.compile(r"(?:levels|limits)\.\w+")
#: The build's highest and lowest level, whatever they are called.
_HIGHEST, _LOWEST = "highest", "lowest"
#: Beginning of a constraint's id -> the slider that moves it most; what a mend names goes first.
_MOVES: tuple[tuple[str, str], ...] = (
    ("use.before-cutback", "limits.mount_warm_degC"),
    ("use.touch", "limits.mount_warm_degC"),
    ("use.hunting", "limits.mount_hot_degC"),
    ("use.cold-hold", _LOWEST),
    ("use.pack-voltage", "limits.pack_loaded_min_V"),
    ("use.no-trip-low", "limits.pack_loaded_min_V"),
    ("use.no-trip-warm", "limits.soft_start_ms"),
    ("band.follow", "limits.follow_count"),
    ("band.sensor", "limits.sensor_count"),
    ("band.open", "limits.open_count"),
    ("band.short", "limits.short_count"),
    ("use.", _HIGHEST),
    ("edge.", _HIGHEST),
    ("fault.", _HIGHEST),
)
#: Heading -> beginnings of the keys under it, in the order of the page; the last takes the rest.
GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (
        "Light and its rise",
        ("levels.", "limits.start", "limits.soft", "limits.delay", "limits.authority"),
    ),
    ("Heat", ("limits.mount", "limits.dim")),
    ("Pack", ("limits.pack",)),
    ("Guards and the trim", ("",)),
)


def group_of(path: str) -> str:
    """Return the heading that a key stands under."""
    return next(title for title, begins in GROUPS if path.startswith(begins))


def slider_of_text(text: str, paths: Sequence[str], moved: str) -> str:
    """Return the first slider that a text names, but for the moved one where it names another."""
    named = [str(found) for found in _PATH.findall(text) if found in paths]
    others = [found for found in named if found != moved]
    return (others or named or [moved])[0]


def slider_of(build: Build, row: Constraint, paths: Sequence[str], moved: str) -> str:
    """Return the key whose slider mends `row`; `moved`, the last one moved, where none is known."""
    named = [str(found) for found in _PATH.findall(row.mend) if found in paths]
    if named:
        return named[0]
    by_current = [f"levels.{name}" for name, _ in build.levels.by_current]
    ends = {_HIGHEST: by_current[0], _LOWEST: by_current[-1]}
    for begin, key in _MOVES:
        if row.id.startswith(begin):
            path = ends.get(key, key)
            return path if path in paths else moved
    return moved


def said_of(row: Constraint) -> str:
    """Return a constraint that fails in words: what, by how much, where and what mends it."""
    bound = "at least" if row.sense == "at_least" else "at most"
    found = "not judged" if row.value is None else f"{row.value:.4g} {row.unit}".rstrip()
    where = f" ({row.where})" if row.where else ""
    mend = f"; mend: {row.mend}" if row.mend else ""
    limit = f"{bound} {row.limit:.4g} {row.unit}".rstrip()
    return f"FAILS {row.meaning}{where}: {found}, {limit}{mend}"
