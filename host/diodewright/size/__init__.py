"""Size: what a build draws, gives and endures, from the plant's own equations."""

from diodewright.size.summary import Figure, size

__all__ = ["Figure", "size"]
