"""What may stand in the way of tuning: a user's mistake, or a library that is not there."""

import importlib.util

__all__ = ["TuneAbsent", "TuneError", "needs_scipy"]


class TuneError(ValueError):
    """What was asked of the tuning can't be done; its text is one line for a person."""


class TuneAbsent(RuntimeError):
    """A library of the extra `tune` is absent: nothing was judged."""


def needs_scipy() -> None:
    """Make sure that SciPy is there.

    Raises
    ------
    TuneAbsent
        It is not; with the command that installs it.
    """
    if importlib.util.find_spec("scipy") is None:
        raise TuneAbsent("no SciPy here; install it: pip install 'diodewright[tune]'")
