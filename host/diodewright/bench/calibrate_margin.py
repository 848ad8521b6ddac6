"""What a calibration buys: the guard bands and words of the build before it and after it."""

from collections.abc import Iterator
from dataclasses import dataclass

from diodewright.build import Build
from diodewright.derive.guard_bands import GuardBand, guard_bands
from diodewright.derive.settings import settings

__all__ = ["Bought", "bought", "moved_words"]

#: A share that a band must move by to be told.
_TOLD = 0.01


@dataclass(frozen=True)
class Bought:
    """One guard band before and after, in `unit`.

    Attributes
    ----------
    row, word : as in `GuardBand`.
    needed_before, needed_after : what the parts' tolerances can move the reading by.
    built_in_before, built_in_after : what the threshold leaves for it.
    """

    row: str
    word: str
    unit: str
    needed_before: float
    needed_after: float
    built_in_before: float
    built_in_after: float

    @property
    def spare_before(self) -> float:
        """What is left over before [unit]; below 0: a false trip waits there."""
        return self.built_in_before - self.needed_before

    @property
    def spare_after(self) -> float:
        """What is left over after [unit]."""
        return self.built_in_after - self.needed_after


def bought(before: Build, after: Build) -> tuple[Bought, ...]:
    """Return the guard bands that a calibration moves, the most bought first."""

    def named(build: Build) -> dict[tuple[str, str], GuardBand]:
        return {(band.row, band.word): band for band in guard_bands(build, settings(build))}

    old, new = named(before), named(after)
    rows = (
        Bought(
            row,
            word,
            band.unit,
            band.needed,
            new[row, word].needed,
            band.built_in,
            new[row, word].built_in,
        )
        for (row, word), band in old.items()
        if (row, word) in new
    )
    told = [row for row in rows if _moved(row)]
    return tuple(sorted(told, key=lambda row: row.needed_after / max(row.needed_before, 1e-12)))


def _moved(row: Bought) -> bool:
    needed = abs(row.needed_after - row.needed_before) > _TOLD * abs(row.needed_before)
    built = abs(row.built_in_after - row.built_in_before) > _TOLD * abs(row.built_in_before)
    return needed or built


def moved_words(before: Build, after: Build) -> Iterator[tuple[str, int, int]]:
    """Yield each settings word that changes: name, before, after."""
    old, new = settings(before), settings(after)
    for name, value in old.items():
        if new[name] != value:
            yield name, value, new[name]
