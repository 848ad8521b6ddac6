"""Size: what a build draws, gives and endures, from the plant's own equations."""

from diodewright.size.descent import Descent, descend, told
from diodewright.size.figure import Figure
from diodewright.size.knobs import Marked, marked
from diodewright.size.life import LifeRow, against_drive
from diodewright.size.limits import Limit
from diodewright.size.packs import Load, PackRow, compare_packs
from diodewright.size.summary import size, topics
from diodewright.size.tables import CurrentRow, MountRow, cold_to_hot, over_current
from diodewright.size.thermal import before_cutback_s

__all__ = [
    "CurrentRow",
    "Descent",
    "Figure",
    "LifeRow",
    "Limit",
    "Load",
    "Marked",
    "MountRow",
    "PackRow",
    "against_drive",
    "before_cutback_s",
    "cold_to_hot",
    "compare_packs",
    "descend",
    "marked",
    "over_current",
    "size",
    "told",
    "topics",
]
