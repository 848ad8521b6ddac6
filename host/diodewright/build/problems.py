"""What is wrong with a build file: every problem, one line each."""

import json
from dataclasses import dataclass

from diodewright.build.plain_file import printable

__all__ = ["BuildErrors", "Problem", "show"]

_SHOWN = 48
_DEPTH = 3


def show(value: object, depth: int = 0) -> str:
    """Return a parsed value as a build file would write it, shortened, on one line.

    `depth` is how many lists it stands in.
    """
    if isinstance(value, bool):
        text = "true" if value else "false"
    elif isinstance(value, str):
        text = json.dumps(value)
    elif isinstance(value, int):
        text = str(value) if abs(value) < 10**_SHOWN else "a whole number of many digits"
    elif isinstance(value, float):
        text = f"{value:.12g}"
        text += ".0" if text.lstrip("-").isdigit() else ""
    elif isinstance(value, (list, tuple)) and depth < _DEPTH:
        text = "[" + ", ".join(show(item, depth + 1) for item in value[:4])
        text += ", ...]" if len(value) > 4 else "]"
    elif isinstance(value, (list, tuple)):
        text = "[...]"
    elif isinstance(value, dict):
        text = "{...}"
    else:
        text = str(value)
    return text if len(text) <= _SHOWN else text[: _SHOWN - 3] + "..."


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong in one file.

    Attributes
    ----------
    file : the file as it was named, or the name of a shipped example.
    line : line of the key, 1 is the first; None where there is none.
    key : ``section.key``, ``[section]`` or "" for the whole file.
    value : what the file says, as text; "" where it says nothing.
    wrong : what is wrong with it, in few words.
    allowed : what is allowed, with its unit; "" where a range says nothing.
    mend : what to write instead, or where to look; "" where that is plain.
    rule : id of the contradiction rule that was broken; "" for a single key's problem.
    """

    file: str
    line: int | None
    key: str
    value: str
    wrong: str
    allowed: str = ""
    mend: str = ""
    rule: str = ""

    def __str__(self) -> str:
        """Return the problem on one line."""
        where = self.file if self.line is None else f"{self.file}:{self.line}"
        what = self.key + (f" = {self.value}" if self.value else "")
        said = "; ".join(part for part in (self.wrong, self.allowed, self.mend) if part)
        return printable(f"{where}: {what}: {said}" if what else f"{where}: {said}")


class BuildErrors(Exception):
    """A build file can't be used; `problems` says everything that is wrong with it.

    This is a mistake in the input, never one of the program's: a caller prints ``str()``, which
    is one line each, and exits with code 2.
    """

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        self.problems = problems
        super().__init__("\n".join(str(problem) for problem in problems))
