"""How the page may not come about: a mistake of its user, or a part that is not installed."""

__all__ = ["INSTALL", "NoPage", "PageError"]

INSTALL = "pip install 'diodewright[live]'"


class PageError(Exception):
    """What a user asked for can't be served; its text is one line for a person."""


class NoPage(Exception):
    """The live page's libraries are not installed: INCOMPLETE."""
