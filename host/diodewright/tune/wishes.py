"""What a builder may want most, and the figure that it is measured by."""

from dataclasses import dataclass

from diodewright.tune.choice import Aim, Ask

__all__ = ["ASSUMED", "WISHES", "Wish", "aim_of"]


@dataclass(frozen=True)
class Wish:
    """One wish.

    Attributes
    ----------
    figure : of `evaluate`.
    sense : 1 for as much as can be had of it, -1 for as little.
    unit, meaning : as text.
    """

    figure: str
    sense: int
    unit: str
    meaning: str


WISHES = {
    "first_minute": Wish("light_first_minute_W", 1, "W", "most light at the end of a minute"),
    "sustained": Wish("light_sustained_W", 1, "W", "most light at the end of ten minutes"),
    "minutes": Wish("pack_min", 1, "min", "most minutes of light from one full pack"),
    "gentle": Wish("start_A_s", -1, "A/s", "gentlest start: the least steep rise of current"),
}
#: What is tuned for where nothing was said; then nothing is written.
ASSUMED = "first_minute"


def aim_of(wish: str, least_minutes: float | None = None) -> Aim:
    """Return the aim of a wish, with what must hold beside everything else."""
    asks: tuple[Ask, ...] = ()
    if least_minutes is not None:
        asks = (Ask("pack_min", 1, least_minutes, max(least_minutes, 1.0), "min"),)
    return Aim(WISHES[wish].figure, WISHES[wish].sense, asks)
