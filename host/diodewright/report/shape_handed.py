"""The shape of what a document hands over: the build's own values, caps as lines, the card."""

from itertools import pairwise
from typing import Annotated

import msgspec

__all__ = ["Cells", "Derate", "Fade", "Given", "Handed", "Unit", "refuse_crooked"]

Unit = Annotated[str, msgspec.Meta(pattern=r"^([!-~]{0,12}|[!-~]{1,6}, [!-~]{1,6})\Z")]

#: Of cells.
Count = Annotated[int, msgspec.Meta(ge=1, le=1000)]


class Given(msgspec.Struct, frozen=True, kw_only=True):
    """One value that the build file gave."""

    key: str
    value: bool | float | str | list[tuple[float, float]]
    unit: Unit


class Fade(msgspec.Struct, frozen=True, kw_only=True):
    """One cap of the law: what it allows at the corners of its line; dark beyond its end."""

    allowed_A: list[float]
    at_degC: list[float] = []
    at_V: list[float] = []
    dark_degC: float = 0.0
    dark_V: float = 0.0


class Derate(msgspec.Struct, frozen=True, kw_only=True):
    """The law's caps; `gate_A` above 0: full light or none, dark below it."""

    level_A: float
    gate_A: float
    mount: Fade
    junction: Fade
    pack: Fade


class Cells(msgspec.Struct, frozen=True, kw_only=True):
    """The cells that the light was rehearsed with."""

    chemistry: str
    part: str
    series: Count
    parallel: Count
    capacity_Ah: float
    full_V: float
    empty_V: float
    rated_A: float
    charging: str


class Handed(msgspec.Struct, frozen=True, kw_only=True):
    """What a person who gets the light must know; `cells` None on a bench supply."""

    wavelength_nm: float | None
    white: bool
    longest_on_s: float
    delay_s: float
    trigger: str
    key: bool
    interlock: bool
    access: str
    cool_s: float
    ambient_min_degC: float
    ambient_max_degC: float
    pack_rest_s: float
    rearm_V: float
    cells: Cells | None
    supply_V: float | None


def refuse_crooked(derate: Derate) -> None:
    """Refuse a cap whose line can't be drawn: corners without a partner, or out of order.

    Raises
    ------
    ValueError
        Names the cap.
    """
    for name in ("mount", "junction", "pack"):
        fade: Fade = getattr(derate, name)
        at = fade.at_V if name == "pack" else fade.at_degC
        if len(at) < 2 or len(at) != len(fade.allowed_A):
            raise ValueError(f"derate.{name}: {len(at)} corners, {len(fade.allowed_A)} currents")
        if at[-1] <= at[0] or any(after < before for before, after in pairwise(at)):
            raise ValueError(f"derate.{name}: its corners do not rise")
