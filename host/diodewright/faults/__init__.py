"""Faults as data: what can break, how it shows, what must follow, and when it strikes."""

from diodewright.faults.catalogue import CATALOGUE, ENGINE, by_id
from diodewright.faults.fault import LEVELS, NEEDS, Fault
from diodewright.faults.moments import CORE, MOMENTS, SLOW

__all__ = ["CATALOGUE", "CORE", "ENGINE", "LEVELS", "MOMENTS", "NEEDS", "SLOW", "Fault", "by_id"]
