"""What may stand in the way of tuning: a user's mistake, or a library that is not there."""

import importlib.util

from diodewright.build.extras import Missing

__all__ = ["TuneError", "needs_scipy"]


class TuneError(ValueError):
    """What was asked of the tuning can't be done; its text is one line for a person."""


def needs_scipy() -> None:
    """Make sure that SciPy is there.

    Raises
    ------
    Missing
        It is not; with the command that installs it.
    """
    if importlib.util.find_spec("scipy") is None:
        raise Missing("SciPy", "tune")
