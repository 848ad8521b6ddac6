"""A table that a person or an instrument wrote as CSV: its rows, comments left out."""

import csv
import io
from pathlib import Path

from diodewright.bench.problems import BenchError
from diodewright.build.plain_file import Unreadable, printable, read_text

__all__ = ["rows_of"]


def rows_of(file: str | Path, most_bytes: int) -> list[tuple[int, list[str]]]:
    """Return each row's number in the file and its cells, without blanks around them.

    Empty lines and those that begin with # are left out; they count in the numbers.

    Raises
    ------
    BenchError
        No such file, larger than `most_bytes`, or no text.
    """
    shown = printable(str(file))
    try:
        text = read_text(file, most_bytes)
    except FileNotFoundError:
        raise BenchError(f"{shown}: no such file") from None
    except Unreadable as error:
        raise BenchError(f"{shown}: {error}") from None
    return [
        (number, [cell.strip() for cell in row])
        for number, row in enumerate(csv.reader(io.StringIO(text)), start=1)
        if row and not row[0].lstrip().startswith("#")
    ]
