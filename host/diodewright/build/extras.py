"""What this package does only with more than its base install."""

__all__ = ["Missing"]


class Missing(Exception):
    """A library or program that this work needs is not installed: INCOMPLETE, exit code 3.

    Parameters
    ----------
    what : what can't be done without it.
    extra : the extra of this package that brings it.
    """

    def __init__(self, what: str, extra: str = "bench") -> None:
        super().__init__(f"{what} is not installed: pip install 'diodewright[{extra}]'")
