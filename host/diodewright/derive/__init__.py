"""Derive: build file to settings words, plant parameters, criteria, always to the safe side."""

from diodewright.derive.criteria import Criterion, criteria
from diodewright.derive.plant import plant_values
from diodewright.derive.settings import BUDGET_GUARD_K, DerivedError, settings
from diodewright.derive.worst import WorstLight, worst_light

__all__ = [
    "BUDGET_GUARD_K",
    "Criterion",
    "DerivedError",
    "WorstLight",
    "criteria",
    "plant_values",
    "settings",
    "worst_light",
]
