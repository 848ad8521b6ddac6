"""What a board, a meter or a person at the bench may do wrong: one line each, exit code 2."""

__all__ = ["AtPrompt", "BenchError", "NotGrounded", "Silent"]


class BenchError(Exception):
    """Something at the bench that work can't go on with; its text is one line for a person.

    Nothing was half-written when it is raised.
    """


class Silent(BenchError):
    """Nothing answers at the port."""


class AtPrompt(BenchError):
    """MicroPython's prompt answers, no firmware runs."""


class NotGrounded(Exception):
    """No rehearsal that holds stands behind what was asked for: exit code 1."""
