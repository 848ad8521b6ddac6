"""What a cell's chemistry decides: its open-circuit curve, its window and what it does at rest.

Three chemistries are known. A curve belongs to its own temperature and to a cell at rest; what
the curves leave out is said beside each.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from diodewright.build.keys import PRACTICE, TYPICAL, ByWord, Computed, per, share_of

__all__ = ["CHEMISTRIES", "CHEMISTRY_WORDS", "Chemistry", "by_chemistry"]

_CELL_SHEET = "makers' data sheets of 14500 and 18650 lithium-ion cells"
_CELL_MODEL = (
    "PyBaMM's equivalent-circuit example cell (100 Ah, 0.6038 mohm, 30.55 s at half charge)"
)

#: What stands in a build where its key is left out: key -> (value or how it follows, source).
_Defaults = Mapping[str, tuple[float | Computed, str]]


@dataclass(frozen=True)
class Chemistry:
    """One chemistry.

    Attributes
    ----------
    text : what people call it.
    curve_V : open-circuit curve, (state of charge [0 to 1], voltage [V]), 13 points.
    curve_source : where the curve is from, and what it leaves out.
    empty_window_V, full_window_V : what `cell_min_V` and `cell_full_V` may say [V].
    recovery_V : a cell that was cut off rises by up to this at rest [V].
    recovery_source : where that is from.
    defaults : key of ``[pack]`` -> value, or how it follows from another key; source.
    caution : what can hurt people.
    """

    text: str
    curve_V: tuple[tuple[float, float], ...]
    curve_source: str
    empty_window_V: tuple[float, float]
    full_window_V: tuple[float, float]
    recovery_V: float
    recovery_source: str
    defaults: _Defaults
    caution: str

    @property
    def rested_full_V(self) -> float:
        """Open-circuit voltage of a full cell at rest [V]: the top of the curve."""
        return self.curve_V[-1][1]


_LITHIUM_ION = Chemistry(
    text="lithium-ion",
    curve_V=(
        (0.0, 2.500),
        (0.01, 2.711),
        (0.05, 3.109),
        (0.1, 3.296),
        (0.2, 3.485),
        (0.3, 3.581),
        (0.4, 3.667),
        (0.5, 3.751),
        (0.6, 3.841),
        (0.7, 3.948),
        (0.8, 4.042),
        (0.9, 4.097),
        (1.0, 4.200),
    ),
    curve_source=(
        "parameter set Chen2020 of PyBaMM (J. Electrochem. Soc. 167 (2020) 080534): NMC against "
        "graphite-silicon, 25 degC; a cell charged above 4.2 V is taken as full at 4.2 V"
    ),
    empty_window_V=(2.5, 3.7),
    full_window_V=(3.9, 4.4),
    recovery_V=0.4,
    recovery_source=f"0.1 to 0.4 V; {PRACTICE}",
    defaults={
        "discharge_continuous_A": (
            share_of("capacity_Ah", 1.0),
            f"one hour's discharge; {PRACTICE}",
        ),
        "cell_min_V": (2.75, _CELL_SHEET),
        "cell_full_V": (4.2, _CELL_SHEET),
        "polarisation_mohm": (per("capacity_Ah", 60.38), f"{_CELL_MODEL}, scaled by capacity"),
        "polarisation_s": (30.55, _CELL_MODEL),
        "cold_factor": (3.0, TYPICAL),
    },
    caution=(
        "lithium cells burn when shorted, overcharged or crushed; fuse at the pack, charge in a "
        "charger made for them, never leave a test pack alone."
    ),
)

_NIMH = Chemistry(
    text="nickel-metal hydride",
    curve_V=(
        (0.0, 1.004),
        (0.1, 1.194),
        (0.2, 1.231),
        (0.3, 1.244),
        (0.4, 1.254),
        (0.5, 1.257),
        (0.6, 1.263),
        (0.7, 1.266),
        (0.8, 1.274),
        (0.85, 1.2945),
        (0.9, 1.315),
        (0.95, 1.3675),
        (1.0, 1.420),
    ),
    curve_source=(
        "the Zephyr project's default curve of the chemistry, read off a maker's slow discharge; "
        "flat, so voltage tells little of the charge; hysteresis (charge and history move it by "
        "some 50 mV, from memory) is left out"
    ),
    empty_window_V=(0.9, 1.2),
    full_window_V=(1.35, 1.6),
    recovery_V=0.2,
    recovery_source="from a cut-off at 1.0 V to the curve below a fifth of charge; " + TYPICAL,
    defaults={
        "discharge_continuous_A": (
            share_of("capacity_Ah", 1.0),
            "1 It: the highest current in a maker's data sheet of an AAA cell",
        ),
        "cell_min_V": (1.0, "where makers' data sheets (0.2 It) end a discharge"),
        "cell_full_V": (1.5, f"off the charger 1.4 to 1.6 V; {TYPICAL}"),
        "polarisation_mohm": (
            share_of("cell_resistance_mohm", 1.0),
            f"as large as the quick part; {TYPICAL}",
        ),
        "polarisation_s": (30.0, f"as a lithium-ion cell's; {TYPICAL}"),
        "cold_factor": (3.0, TYPICAL),
    },
    caution=(
        "nickel-metal hydride cells give tens of amperes into a short and heat up; fuse at the "
        "pack, never mix cells: below 1 V a cell the weakest is driven backwards and vents."
    ),
)

_ALKALINE = Chemistry(
    text="alkaline",
    curve_V=(
        (0.0, 1.10),
        (0.05, 1.15),
        (0.1, 1.20),
        (0.2, 1.23),
        (0.3, 1.26),
        (0.4, 1.28),
        (0.5, 1.30),
        (0.6, 1.32),
        (0.7, 1.34),
        (0.8, 1.38),
        (0.9, 1.44),
        (0.95, 1.515),
        (1.0, 1.59),
    ),
    curve_source=(
        "an open encyclopedia's table of an AA cell without load, from memory; its upper third "
        "agrees with a maker's discharge at 0.1 A; capacity shrinks with current and is not "
        "modelled to: give that of your own current"
    ),
    empty_window_V=(0.8, 1.3),
    full_window_V=(1.5, 1.7),
    recovery_V=0.4,
    recovery_source=(
        "0.35 V after a cut-off at 0.8 V in the same table's cell under 330 mW, from memory"
    ),
    defaults={
        "discharge_continuous_A": (
            share_of("capacity_Ah", 0.4),
            f"beyond it capacity collapses; {TYPICAL}",
        ),
        "cell_min_V": (0.9, "end of a 43 ohm discharge in a maker's specification of an AA cell"),
        "cell_full_V": (1.65, "highest new cell in a maker's specification: 1.56 to 1.65 V"),
        "polarisation_mohm": (
            share_of("cell_resistance_mohm", 1.0),
            "as large as the quick part: both together are the 0.5 to 0.6 ohm of an AA cell "
            "under 330 mW in an open encyclopedia's table, from memory",
        ),
        "polarisation_s": (60.0, TYPICAL),
        "cold_factor": (5.0, f"from 20 to -20 degC, from memory; {TYPICAL}"),
    },
    caution=(
        "alkaline cells leak caustic potash and burst when charged, put in backwards, mixed with "
        "others or left in flat; never charge them, change all of them together."
    ),
)

#: Word of ``pack.chemistry`` -> what it decides.
CHEMISTRIES: Mapping[str, Chemistry] = {
    "lithium_ion": _LITHIUM_ION,
    "nimh": _NIMH,
    "alkaline": _ALKALINE,
}

CHEMISTRY_WORDS = tuple(CHEMISTRIES)


def by_chemistry(key: str) -> ByWord:
    """Return the default of a key of ``[pack]`` that the chemistry decides."""
    return ByWord("chemistry", {word: each.defaults[key] for word, each in CHEMISTRIES.items()})
