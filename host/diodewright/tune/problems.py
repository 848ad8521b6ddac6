"""A user's mistake about tuning."""

__all__ = ["TuneError"]


class TuneError(ValueError):
    """What was asked of the tuning can't be done; its text is one line for a person."""
