"""Faults: the catalogue, data only. What fails, how it is shown, and what must follow."""

from diodewright.faults.catalogue import CATALOGUE, by_id
from diodewright.faults.fault import MOMENTS, Fault

__all__ = ["CATALOGUE", "MOMENTS", "Fault", "by_id"]
