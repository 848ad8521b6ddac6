"""How the page may not come about by its user's mistake."""

__all__ = ["PageError"]


class PageError(Exception):
    """What a user asked for can't be served; its text is one line for a person."""
