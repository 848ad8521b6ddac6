"""The terminal: a console that carries nothing by colour alone, and a few ways to print.

Long lines are broken at the console's width under their label; commands never are, so that they
can be copied.
"""

import json
import re
import sys
import textwrap
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

__all__ = [
    "block",
    "command",
    "json_text",
    "print_json",
    "print_text",
    "progress",
    "screen",
    "table",
]

_LABEL_WIDTH = 9
_LEAST_WIDTH = 20
#: A number and its unit stay on one line.
_KEPT = re.compile(r"(?<=\d) (?=(?:[AVWsm%]|ms|min|lm|nm|°C|W/m²)(?:\W|$))")
_HARD_SPACE = "\N{NO-BREAK SPACE}"


def screen() -> Console:
    """Return the console on stdout; a character that its encoding lacks becomes a mark."""
    reconfigure = getattr(sys.stdout, "reconfigure", None)
    if reconfigure is not None:
        reconfigure(errors="replace")
    return Console(highlight=False, markup=False, emoji=False)


def _wrapped(line: str, width: int) -> list[str]:
    """Return `line` broken at spaces; a word longer than that (a path) stays whole."""
    return textwrap.wrap(
        line, width, break_on_hyphens=False, break_long_words=False, subsequent_indent="  "
    )


def block(out: Console, label: str, lines: Iterable[str], style: str = "") -> None:
    """Print lines under a label at the left, each broken at the console's width."""
    width = max(out.width - _LABEL_WIDTH, _LEAST_WIDTH)
    for line in lines:
        kept = _KEPT.sub(_HARD_SPACE, line)
        for part in _wrapped(kept, width):
            said = Text(part.replace(_HARD_SPACE, " "), style)
            out.print(Text(f"{label:<{_LABEL_WIDTH}}", "bold") + said, soft_wrap=True)
            label = ""


def command(out: Console, text: str) -> None:
    """Print a command on a line of its own, whole."""
    out.print(Text(" " * _LABEL_WIDTH + text, "cyan"), soft_wrap=True)


def table(
    out: Console, heads: Sequence[str], rows: Sequence[Sequence[str]], right: str = ""
) -> None:
    """Print a table, its first column whole; `right` is the head that is set to the right."""
    drawn = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    first_width = max(len(cell) for cell in (heads[0], *(row[0] for row in rows)))
    for place, head in enumerate(heads):
        drawn.add_column(
            head,
            justify="right" if head == right else "left",
            min_width=first_width if place == 0 else None,
        )
    for row in rows:
        drawn.add_row(*(Text(cell) for cell in row))
    out.print(drawn)


def print_json(values: dict[str, Any]) -> None:
    """Print one JSON document with `format` first, as `rehearse --json` writes its own."""
    print_text(json_text(values))


def json_text(values: dict[str, Any]) -> str:
    """Return the text of one JSON document with `format` first."""
    text = json.dumps({"format": 1, **values}, indent=1, allow_nan=False, ensure_ascii=False)
    return text + "\n"


def print_text(text: str) -> None:
    r"""Print what a program will read: UTF-8 whatever the terminal's encoding.

    A file name that is no UTF-8 becomes a ``\udc..`` escape, which JSON allows.
    """
    sys.stdout.flush()
    sys.stdout.buffer.write(text.encode("utf-8", "backslashreplace"))
    sys.stdout.buffer.flush()


@contextmanager
def progress() -> Iterator[Callable[[str], None]]:
    """Yield `say(text)`: one line on stderr that updates, only where stderr is a terminal."""
    if not sys.stderr.isatty():
        yield lambda text: None
        return
    console = Console(stderr=True, highlight=False, markup=False, emoji=False)
    with console.status("starting") as status:
        yield lambda text: status.update(Text(text))
