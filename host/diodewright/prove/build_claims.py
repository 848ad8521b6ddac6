"""What the proof means in a build's own numbers."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from diodedriver import words

__all__ = ["BuildFigure", "figures"]


@dataclass(frozen=True)
class BuildFigure:
    """One number that follows from a proved claim.

    Attributes
    ----------
    obligation : the claim it follows from.
    """

    obligation: str
    meaning: str
    value: float
    unit: str

    def as_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return asdict(self)


def figures(settings: Mapping[str, int], absolute_mA: float) -> tuple[BuildFigure, ...]:
    """Return what the proved claims say of these settings.

    Parameters
    ----------
    settings : a build's words by name.
    absolute_mA : what the diode never survives more of [mA].
    """
    most_mA = settings["absolute_mA"]
    rise_ms = -(-64 * (most_mA - settings["start_mA"]) // settings["rise_q64"])
    rows = [
        BuildFigure("max-absolute", "drive is never above", most_mA, "mA"),
        BuildFigure(
            "max-absolute", "of the diode's absolute maximum", 100 * most_mA / absolute_mA, "%"
        ),
        BuildFigure("trim", "a lying sensor shifts it by at most", settings["authority_mA"], "mA"),
        BuildFigure("rise", "from start level to the most takes at least", rise_ms, "ms"),
        BuildFigure(
            "indicate", "from a press to light takes at least", settings["delay_ticks"], "ms"
        ),
    ]
    rows += [
        BuildFigure(
            f"detect-{row[0]}",
            f"{row[4]}: dark on the tick of",
            1 if row[0] in words.AT_ONCE else settings[f"count_{row[0]}"],
            "ms",
        )
        for row in words.FAULTS
        if row[0] != "state"
    ]
    return tuple(rows)
