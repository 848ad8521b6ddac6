"""The small shop: a log with a line for each unit that was flashed, and what is due to be tried.

The log is a CSV that only grows; a line is written whole or not at all. Its date is this
machine's, in UTC.
"""

import csv
import io
import os
from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from diodewright.bench.flash import Cargo, Flashed
from diodewright.bench.problems import BenchError
from diodewright.build.plain_file import Unreadable, printable, read_text, why

__all__ = ["PROOF_TEST", "PROOF_TEST_DAYS", "log_unit", "overdue", "try_log"]

COLUMNS = (
    "date_utc",
    "port",
    "unit",
    "build",
    "fingerprint",
    "passport",
    "micropython",
    "self_test",
    "lit_s",
    "starts",
    "despite",
    "outcome",
)
#: Common practice, no source: guards that are never asked are tried twice a year.
PROOF_TEST_DAYS = 182
#: What the board's own self-test can't see; a person does it, dummy load or eyewear first.
PROOF_TEST = (
    "open the interlock while it is lit: dark at once, and a closed loop alone lights nothing",
    "turn the key off while it is lit: dark at once",
    "pull the mount sensor's plug while it is lit: dark",
    "cut-offs: switch it off and on; the self-test (*TST?) drives both and the comparators' latch",
)
_MOST_BYTES = 20_000_000
_DAY = 10


def try_log(path: Path) -> None:
    """Refuse a log that can't be written or is another kind of file, before any board is touched.

    Raises
    ------
    BenchError
        It can't be opened, or has other columns.
    """
    _rows(path)
    try:
        with path.open("a", encoding="utf-8"):
            pass
    except OSError as error:
        raise BenchError(printable(f"{path}: can't write there: {why(error)}")) from None


def log_unit(
    path: Path, port: str, cargo: Cargo, done: Flashed | None, outcome: str, now: datetime
) -> None:
    """Write the line of one unit; `outcome` is "flashed" or why it was not.

    Raises
    ------
    BenchError
        The disk is full, or the file went away.
    """
    counted = (done.self_test, done.lit_s, done.starts) if done else ("", "", "")
    row = (
        now.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ"),
        done.port if done else port,
        done.unit if done else "",
        cargo.build.name,
        cargo.build.fingerprint[:16],
        done.passport if done else "",
        done.release if done else "",
        *(str(value) for value in counted),
        " ".join(cargo.despite),
        outcome,
    )
    text = io.StringIO()
    out = csv.writer(text, lineterminator="\n")
    if not path.exists() or path.stat().st_size == 0:
        out.writerow(COLUMNS)
    out.writerow(row)
    try:
        _append(path, text.getvalue().encode())
    except OSError as error:
        raise BenchError(printable(f"{path}: the line is not written: {why(error)}")) from None


def _append(path: Path, data: bytes) -> None:
    """Append all of `data` or none: what a full disk took of it is cut off again."""
    with path.open("ab", buffering=0) as file:
        before = file.seek(0, os.SEEK_END)
        try:
            if file.write(data) != len(data):
                raise OSError(28, "No space left on device")
            os.fsync(file.fileno())
        except OSError:
            file.truncate(before)
            raise


def _rows(path: Path) -> list[dict[str, str]]:
    try:
        text = read_text(path, _MOST_BYTES)
    except FileNotFoundError:
        return []
    except Unreadable as error:
        raise BenchError(printable(f"{path}: {error}")) from None
    found = csv.DictReader(io.StringIO(text))
    if text and tuple(found.fieldnames or ()) != COLUMNS:
        raise BenchError(
            printable(f"{path}: no log of flashed units: its columns are not {', '.join(COLUMNS)}")
        )
    return list(found)


def overdue(path: Path, today: date) -> Sequence[tuple[str, date]]:
    """Return unit and date of the proof test of each unit of the log for which it is due.

    A unit's time counts from its newest line: flash it, or log it anew, behind a proof test.
    """
    newest: dict[str, date] = {}
    for row in _rows(path):
        if row["unit"] and row["outcome"] == "flashed":
            newest[row["unit"]] = date.fromisoformat(row["date_utc"][:_DAY])
    due = {unit: day + timedelta(days=PROOF_TEST_DAYS) for unit, day in newest.items()}
    return sorted((unit, day) for unit, day in due.items() if day <= today)
