"""The same keys for every build file of one circuit: thought out for all before one is written."""

from collections.abc import Mapping, Sequence

from diodewright.bench.problems import BenchError
from diodewright.build import load
from diodewright.build.edit import Edit, edited

__all__ = ["edits_of"]


def edits_of(
    file: str, also: Sequence[str], keys: Mapping[str, float], note: str
) -> tuple[Edit, ...]:
    """Return the edit of every file, the first one's first.

    Raises
    ------
    BenchError
        A further file describes other sensors or another comparator: it is of another circuit.
    BuildErrors
        A file is wrong, or would be with the keys.
    """
    own = load(file)
    for each in also:
        other = load(each)
        for section in ("sensors", "comparator"):
            if getattr(other, section) != getattr(own, section):
                raise BenchError(
                    f"{each}: its [{section}] differs from that of {file}: another circuit"
                )
    return tuple(edited(each, keys, note) for each in (file, *also))
