"""A recording opened for a fit or a comparison: whose it is, what it holds, where it has gaps.

A recording belongs to one build. Behind a change that was written (`build.edit`) the file's
fingerprint is another one; the earlier text still lies beside it, and a recording of that text is
taken, with the settings that the board had then.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from diodewright import examples
from diodewright.bench.problems import BenchError
from diodewright.bench.record import ENDINGS
from diodewright.bench.record import load as load_record
from diodewright.build import Build, BuildErrors, is_path, load_text
from diodewright.build.plain_file import printable
from diodewright.sim import Trace, law_hash

__all__ = ["Flags", "Record", "Values", "cut", "missing", "opened", "refuse_another_law"]

Values = NDArray[np.float64]
Flags = NDArray[np.bool_]
#: Fingerprints are told by so many digits; a board knows no more than 16.
_SHOWN, _BOARD_KNOWS = 12, 16


@dataclass(frozen=True)
class Record:
    """A recording and the build that it is of.

    Attributes
    ----------
    file : as it was named.
    build : as it is now.
    then : as the board had it, whose settings the law ran on; the same, or an earlier text.
    earlier : file of that earlier text; "" where it is the same.
    """

    file: str
    trace: Trace
    build: Build
    then: Build
    earlier: str = ""

    def refuse(self, why: str) -> BenchError:
        """Return the error that names this file."""
        return BenchError(printable(f"{self.file}: {why}"))


def opened(path: Path, build: Build) -> Record:
    """Return the recording in `path`, of `build` or of an earlier text of its file.

    A bare name without an ending is a shipped recording's.

    Raises
    ------
    BenchError
        Unreadable, no recording, of another build, or it does not say of which.
    """
    trace = load_record(_shipped(path) or path)
    said = str(trace.provenance.get("fingerprint", ""))
    if len(said) < _BOARD_KNOWS:
        raise BenchError(printable(f"{path}: does not say of which build it is a recording"))
    for then, earlier in ((build, ""), *_earlier(build)):
        if then.fingerprint.startswith(said[:64]):
            return Record(str(path), trace, build, then, earlier)
    name = str(trace.provenance.get("build", "another build"))
    raise BenchError(
        printable(
            f"{path}: recorded with build {name[:40]} ({said[:_SHOWN]}); "
            f"this is {build.name} ({build.fingerprint[:_SHOWN]})"
        )
    )


def _shipped(path: Path) -> Path | None:
    """Return where a shipped recording of that bare name lies; None where it is a path."""
    if path.suffix or path.name != str(path):
        return None
    for ending in ENDINGS:
        found = Path(str(resources.files(examples).joinpath(f"{path.name}{ending}")))
        if found.is_file():
            return found
    return None


def _earlier(build: Build) -> Iterable[tuple[Build, str]]:
    """Yield the earlier texts of the build's file, the newest first; one that is wrong is none."""
    if not is_path(build.file):
        return
    path = Path(build.file)
    kept = [each for each in path.parent.glob(f"{path.name}.before-*") if each.suffix[8:].isdigit()]
    for each in sorted(kept, key=lambda one: -int(one.suffix[8:])):
        try:
            yield load_text(each.read_text("utf-8"), build.file), str(each)
        except (BuildErrors, OSError, UnicodeDecodeError):
            continue


def refuse_another_law(record: Record) -> None:
    """Raise BenchError where the recording was made with another law than this package's."""
    said = str(record.trace.provenance.get("law", ""))
    own = law_hash()
    if said != own:
        raise record.refuse(
            f"recorded with law {said[:_SHOWN] or 'unknown'}, this package has {own[:_SHOWN]}: "
            "use the version that flashed the board"
        )


def missing(trace: Trace, names: Iterable[str]) -> list[str]:
    """Return those of `names` that the recording has not, or never has a number in."""
    return [
        name for name in names if name not in trace.columns or not np.isfinite(trace[name]).any()
    ]


def cut(
    record: Record, names: tuple[str, ...], from_s: float | None = None, to_s: float | None = None
) -> dict[str, Values]:
    """Return the columns `names` and ``time_s`` from the first reading to the last.

    Parameters
    ----------
    from_s, to_s : a part of it only [s], on the recording's clock.

    Raises
    ------
    BenchError
        Columns are missing, nothing is there, or there is a gap inside.
    """
    trace = record.trace
    if absent := missing(trace, names):
        raise record.refuse(f"has no {', '.join(absent)}")
    time_s = trace["time_s"]
    table = np.vstack([trace[name] for name in names])
    wanted = (time_s >= (time_s[0] if from_s is None else from_s)) & (
        time_s <= (time_s[-1] if to_s is None else to_s)
    )
    full = np.isfinite(table).all(axis=0) & wanted
    if full.sum() < 2:
        raise record.refuse("nothing was read in that time")
    first, last = int(np.argmax(full)), len(full) - int(np.argmax(full[::-1]))
    holes = np.flatnonzero(~full[first:last])
    if len(holes):
        at_s = float(time_s[first + holes[0]])
        raise record.refuse(
            f"a gap at {at_s:.2f} s, inside the {time_s[first]:.0f} to {time_s[last - 1]:.0f} s "
            "that are wanted: nothing is made up for it; take a part with --from and --to"
        )
    part = slice(first, last)
    return {"time_s": time_s[part], **{name: trace[name][part] for name in names}}
