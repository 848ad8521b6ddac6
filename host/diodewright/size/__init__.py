"""Size: what a build draws, gives and endures, from the plant's own equations."""

from diodewright.size.summary import Figure, before_cutback_s, size

__all__ = ["Figure", "before_cutback_s", "size"]
