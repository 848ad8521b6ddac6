"""Faults: the catalogue, data only. What fails, how it is shown, and what must follow."""

from diodewright.faults.catalogue import CATALOGUE, ENGINE, by_id
from diodewright.faults.fault import LEVELS, MOMENTS, NEEDS, Fault

__all__ = ["CATALOGUE", "ENGINE", "LEVELS", "MOMENTS", "NEEDS", "Fault", "by_id"]
