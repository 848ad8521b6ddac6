"""Faults: the catalogue, data only. What fails, how it is shown, and what must follow."""

from diodewright.faults.catalogue import CATALOGUE, by_id
from diodewright.faults.fault import MOMENTS, NEEDS, Fault

__all__ = ["CATALOGUE", "MOMENTS", "NEEDS", "Fault", "by_id"]
