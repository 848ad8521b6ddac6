"""The passport: one short fingerprint over build file, law and settings.

It is flashed within the settings' as-built text and into the journal; who has the build file and
the law can work it out again. Settings that were calibrated are other settings, hence another
passport.
"""

import hashlib
import re
from collections.abc import Iterable, Mapping

from diodedriver import settings as slots
from diodewright.bench.problems import BenchError
from diodewright.build import Build
from diodewright.sim import law_hash

__all__ = ["as_built", "halves", "passport", "read_as_built"]

_DIGITS = 16
#: What a journal entry holds of it: twice so many digits, each a number below 2**28.
_HALF = 7
_TEXT = re.compile(r"passport ([0-9a-f]{16})(?:; despite ([^;]*))?")


def passport(build: Build, values: Mapping[str, int]) -> str:
    """Return the passport of `build` under the law on disk with these settings, 16 digits.

    The first of SHA-256 over the build's fingerprint, the law's hash and every setting by name.
    """
    lines = [build.fingerprint, law_hash(), *(f"{name}={values[name]}" for name in sorted(values))]
    return hashlib.sha256("\n".join(lines).encode()).hexdigest()[:_DIGITS]


def as_built(number: str, despite: Iterable[str]) -> str:
    """Return the as-built text that the settings' record carries.

    Raises
    ------
    BenchError
        So many findings that the record has no room for their names.
    """
    named = ", ".join(despite)
    text = f"passport {number}" + (f"; despite {named}" if named else "")
    if len(text) > slots.LONGEST_AS_BUILT:
        raise BenchError(
            f"the names of what was flashed despite take {len(text)} characters, "
            f"the board has room for {slots.LONGEST_AS_BUILT}: mend some of them"
        )
    return text


def read_as_built(text: str) -> tuple[str, tuple[str, ...]]:
    """Return passport and what was flashed despite; ("", ()) where the text has none."""
    found = _TEXT.match(text)
    if found is None:
        return "", ()
    return found[1], tuple(name for name in (found[2] or "").split(", ") if name)


def halves(number: str) -> tuple[int, int]:
    """Return the passport's first fourteen digits as the two numbers of a journal entry."""
    return int(number[:_HALF], 16), int(number[_HALF : 2 * _HALF], 16)
