"""The law with one thing made wrong, for the prover to find."""

from pathlib import Path

from diodedriver import law

TEXT = Path(law.__file__).read_text(encoding="utf-8")


def with_change(old: str, new: str) -> str:
    """Return the law's source with `old`, which stands in it once, replaced."""
    assert TEXT.count(old) == 1, (TEXT.count(old), old)
    return TEXT.replace(old, new)
