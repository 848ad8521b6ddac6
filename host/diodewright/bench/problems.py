"""What a board, a meter or a person at the bench may do wrong: one line each, exit code 2."""

__all__ = ["BenchError", "Missing"]


class BenchError(Exception):
    """Something at the bench that work can't go on with; its text is one line for a person.

    Nothing was half-written when it is raised.
    """


class Missing(Exception):
    """A library that this work needs is not installed: INCOMPLETE, exit code 3.

    Parameters
    ----------
    what : what can't be done without it.
    extra : the extra of this package that brings it.
    """

    def __init__(self, what: str, extra: str = "bench") -> None:
        super().__init__(f"{what} is not installed: pip install 'diodewright[{extra}]'")
