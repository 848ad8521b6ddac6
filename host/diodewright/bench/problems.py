"""What a board, a meter or a person at the bench may do wrong: one line each, exit code 2."""

__all__ = ["AtPrompt", "BenchError", "NoTools", "NotGrounded", "Silent"]


class BenchError(Exception):
    """Something at the bench that work can't go on with; its text is one line for a person.

    Nothing was half-written when it is raised.
    """


class Silent(BenchError):
    """Nothing answers at the port."""


class AtPrompt(BenchError):
    """MicroPython's prompt answers, no firmware runs."""


class NoTools(Exception):
    """A program of the extra `bench` is not here: INCOMPLETE, with the command that installs it."""

    def __init__(self, name: str) -> None:
        super().__init__(f"{name} is not here: pip install 'diodewright[bench]'")


class NotGrounded(Exception):
    """No rehearsal that holds stands behind what was asked for: exit code 1."""
