"""What a board, a meter or a person at the bench may do wrong: one line each, exit code 2."""

__all__ = ["BenchError"]


class BenchError(Exception):
    """Something at the bench that work can't go on with; its text is one line for a person.

    Nothing was half-written when it is raised.
    """
