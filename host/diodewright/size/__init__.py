"""Size: what a build draws, gives and endures, from the plant's own equations."""

from diodewright.size.packs import Load, PackRow, compare_packs
from diodewright.size.summary import Figure, before_cutback_s, size

__all__ = ["Figure", "Load", "PackRow", "before_cutback_s", "compare_packs", "size"]
