"""The live page: a light tried, tuned and watched in a browser of this machine.

`trying`, `watching` and `recorded` feed it; the simulated tick or the board's is its one clock.
"""

from diodewright.page.problems import PageError

__all__ = ["PageError"]
