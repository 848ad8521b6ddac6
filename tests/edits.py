"""A shipped example as text, with edits: what a builder would change in an editor."""

import re
from collections.abc import Mapping

from diodewright.build import Build, load_text
from diodewright.build.source import fetch

#: ``section.key`` -> TOML value as text; None removes the key.
Edits = Mapping[str, str | None]


def edited_text(text: str, edits: Edits) -> str:
    """Return the text with each ``section.key`` set to a TOML value, added, or (None) removed."""
    lines = text.splitlines()
    for path, value in edits.items():
        section, _, key = path.rpartition(".")
        start = lines.index(f"[{section}]") + 1 if section else 0
        end = next((i for i in range(start, len(lines)) if lines[i].startswith("[")), len(lines))
        at = [i for i in range(start, end) if re.match(rf"{key}\s*=", lines[i])]
        new = [] if value is None else [f"{key} = {value}"]
        if at:
            lines[at[0] : at[0] + 1] = new
        else:
            assert new, f"nothing to remove at {path}"
            lines[start:start] = new
    return "\n".join(lines) + "\n"


def edited(example: str, edits: Edits) -> Build:
    """Return the build that the edited example describes."""
    return load_text(edited_text(fetch(example)[0], edits), f"{example} edited")
