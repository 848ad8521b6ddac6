"""What a failing run leaves behind: its chain of causes as text, its figure and its Trace."""

import re
from pathlib import Path

from diodewright.harness.lamp import Lamp, LampRun
from diodewright.report.figure_case import case_picture
from diodewright.report.files import CannotWrite, write_together
from diodewright.report.screen_case import limits_A
from diodewright.report.story import Line, laid_out
from diodewright.report.wording import prose

__all__ = ["folder_name", "forget", "headed", "keep", "provenance", "told_run"]

_KINDS = ("png", "npz")
_ODD = re.compile(r"[^\w@.-]+")
_HASH_SHOWN = 12


def folder_name(text: str) -> str:
    """Return `text` as the name of one folder or file: odd characters are underscores."""
    return _ODD.sub("_", text).strip("._") or "_"


def _paths(folder: Path, name: str) -> dict[str, Path]:
    return {kind: folder / f"{folder_name(name)}.{kind}" for kind in _KINDS}


def forget(folder: Path, name: str) -> None:
    """Take away what `keep` left of an earlier run by that name, now that it holds."""
    for path in _paths(folder, name).values():
        path.unlink(missing_ok=True)


def keep(lamp: Lamp, run: LampRun, folder: Path) -> list[Line]:
    """Write figure and Trace of `run` into `folder` and say where; or why that can't be done."""
    dark_ms = run.case.time_to_dark_ms if run.case else None
    limits = limits_A(lamp.build, run.peak_current_A)
    picture = case_picture(run.trace, run.zero[0], dark_ms, limits, run.zero[1])
    named = {kind: path.name for kind, path in _paths(folder, run.name).items()}
    writers = {
        named["png"]: lambda path: path.write_bytes(picture),
        named["npz"]: run.trace.save_npz,
    }
    try:
        png, npz = write_together(folder, writers)
    except CannotWrite as error:
        return [("not kept", str(error))]
    return [("figure", _shown(png)), ("trace", _shown(npz))]


def _shown(path: Path) -> str:
    """Return a path as seen from here, where it lies below here."""
    return str(path.relative_to(Path.cwd()) if path.is_relative_to(Path.cwd()) else path)


def provenance(lamp: Lamp) -> str:
    """Return what a result must be told with: seed, law, engine."""
    engine = lamp.engine
    return f"seed {lamp.seed}, law {engine.law_hash[:_HASH_SHOWN]}, engine {engine.name}"


def told_run(lamp: Lamp, run: LampRun, folder: Path) -> str:
    """Return the failure text of `run`, after keeping its figure and Trace in `folder`."""
    verdict = "FAILS" if run.fails else "INCOMPLETE" if run.missing else "HOLDS"
    again = [("again", run.again)] if run.again else []
    lines = [*run.story, *keep(lamp, run, folder), *again, ("ran with", provenance(lamp))]
    first = [*run.fails, *run.missing, ""][0]
    return f"{headed(verdict, lamp, run.name, first)}\n{laid_out(lines)}"


def headed(verdict: str, lamp: Lamp, what: str, first: str) -> str:
    """Return the first line of a failure: the only one that a list of failures shows."""
    return f"{verdict}  {lamp.build.name}: {what}{': ' if first else ''}{prose(first)}"
