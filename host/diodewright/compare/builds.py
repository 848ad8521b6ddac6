"""Two builds: which keys differ, and which figures of the size summary follow."""

import dataclasses
from collections.abc import Iterator

from diodewright.build import KEYS, Build
from diodewright.build.model import value_of
from diodewright.compare.move import Move, Row, moved
from diodewright.size import size

__all__ = ["moved_between_builds"]


def moved_between_builds(a: Build, b: Build) -> tuple[Move, ...]:
    """Return every key and every size figure that moved from build `a` to build `b`.

    A key is compared by the value that counts, whoever gave it: the file, a part or a default.

    Raises
    ------
    DerivedError
        One of them gives a settings word that the board would refuse.
    """
    return moved(_rows(a), _rows(b))


def _rows(build: Build) -> Iterator[Row]:
    for key in KEYS:
        if key.kind == "levels":
            for name, level_A in build.levels.others:
                yield Row("key", f"levels.{name}", "", level_A, "A")
            continue
        value = value_of(build, key.path)
        assert value is None or isinstance(value, int | float | str | tuple)
        yield Row("key", key.path, "", value, key.unit)
    for figure in size(build):
        row = dataclasses.asdict(figure)
        yield Row("size", figure.id, "", row["value"], figure.unit)
