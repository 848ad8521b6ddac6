"""What `tune` does where it searches: one wish, a front of two, or a point picked of a front."""

import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from diodewright.build import Build
    from diodewright.build.edit import Edit
    from diodewright.tune.job import Asked, Job, Result
    from diodewright.tune.looks import Stopped

__all__ = ["Search", "searched"]

_INTERRUPTED = 130


@dataclass(frozen=True)
class Search:
    """The words of the command line.

    Attributes
    ----------
    build : as it was named.
    wish, front : the wish, and the other one of a front; None where not said.
    least_minutes, touch_degC, also, seed : what is asked.
    resume : the file that is kept of it.
    out, pick : the front's folder, and a point's name.
    write, as_json : whether to write, and how to tell.
    """

    build: str
    wish: str | None
    front: str | None
    least_minutes: float | None
    touch_degC: float | None
    also: tuple[str, ...]
    seed: int
    resume: Path | None
    out: Path | None
    pick: str | None
    write: bool
    as_json: bool


def searched(words: Search) -> int:
    """Do what the command line asks for and return the exit code."""
    from diodewright.build import load
    from diodewright.tune import needs_scipy

    needs_scipy()
    _refuse(words)
    build = load(words.build)
    with ThreadPoolExecutor(os.cpu_count()) as pool:  # the engine runs without Python's lock
        try:
            if words.pick is not None:
                return _pick(words, build, pool)
            if words.front is not None:
                return _front(words, build, pool)
            return _tune(words, build, pool)
        except KeyboardInterrupt as end:
            return _stopped(words, end)


def _refuse(words: Search) -> None:
    if words.write and words.wish is None and words.pick is None:
        raise click.UsageError("--write writes what was wished for: say --wish, or --pick a point")
    if words.front is not None and words.wish is None:
        raise click.UsageError("--front is the other of two wishes: say --wish as well")
    if words.front is not None and words.front == words.wish:
        raise click.UsageError("--front and --wish are the same: a front has two wishes")
    if words.out is not None and words.pick is None and words.front is None:
        raise click.UsageError("--out goes with --scan, --front or --pick")
    if words.pick is not None and words.out is None:
        raise click.UsageError("--pick reads a front: say its folder with --out")
    if words.write and words.front is not None:
        raise click.UsageError("a front is not written: --pick one of its settings")


def _asked(words: Search, build: "Build") -> "Asked":
    from diodewright.tune import key_named
    from diodewright.tune.job import Asked
    from diodewright.tune.wishes import ASSUMED

    also = tuple(key_named(build, name) for name in words.also)
    wish = words.wish or ASSUMED
    return Asked(wish, words.least_minutes, words.touch_degC, also, words.seed)


def _begun(words: Search, build: "Build", pool: ThreadPoolExecutor) -> "Job":
    from diodewright.tune.job import begun

    kept = Path(f"{build.name}.tune.json")
    return begun(build, _asked(words, build), pool, words.resume, kept)


def _tune(words: Search, build: "Build", pool: ThreadPoolExecutor) -> int:
    from diodewright.report import screen
    from diodewright.report.screen_tuned import show_tuned
    from diodewright.tune.job import run_search

    job = _begun(words, build, pool)
    with screen.progress() as say:
        done = run_search(job, say=say)
    job.looks.save()
    edit = _edit(words, build, job, done)
    written = _written(words, edit, done)
    return show_tuned(job, done, edit, words.wish is None, written, words.as_json)


def _edit(words: Search, build: "Build", job: "Job", done: "Result") -> "Edit | None":
    from diodewright.build.edit import edited

    values = job.looks.problem.values(done.tuned.found.at)
    if values and job.asked.touch_degC is not None:  # what the result was judged by goes with it
        values["heat.sink_touch_max_degC"] = job.asked.touch_degC
    if not values or not done.tuned.holds:
        return None
    wish = words.wish or job.asked.wish
    return edited(build.file, values, f"tuned for {wish} (diodewright tune, seed {words.seed})")


def _written(words: Search, edit: "Edit | None", done: "Result") -> str | None:
    """Write where that was asked for and all judges let it pass; the diff is told first."""
    if not words.write or edit is None or not done.tuned.holds:
        return None
    if not words.as_json:
        click.echo(edit.diff)
    return str(edit.write())


def _front(words: Search, build: "Build", pool: ThreadPoolExecutor) -> int:
    from diodewright.report import screen
    from diodewright.report.files import make_folder
    from diodewright.report.screen_front import show_front
    from diodewright.tune.job import run_front

    assert words.front is not None
    if words.out is not None:
        make_folder(words.out)
    job = _begun(words, build, pool)
    with screen.progress() as say:
        points = run_front(job, words.front, say=say)
    job.looks.save()
    return show_front(job, words.front, points, words.out, words.as_json)


def _pick(words: Search, build: "Build", pool: ThreadPoolExecutor) -> int:
    from diodewright.report import screen
    from diodewright.report.screen_tuned import show_tuned
    from diodewright.tune.job import Asked, begun, picked
    from diodewright.tune.picks import choice_of, read_front
    from diodewright.tune.wishes import aim_of

    assert words.pick is not None
    assert words.out is not None
    held = read_front(words.out)
    asked = Asked(
        held["wishes"][0],
        held["least_minutes"],
        held["touch_degC"],
        tuple(held["also"]),
        held["seed"],
    )
    job = begun(build, asked, pool)
    at = choice_of(held, words.pick, job.build.fingerprint, job.looks.problem)
    with screen.progress() as say:
        done = picked(job, at, [aim_of(held["wishes"][1], held["least_minutes"])], say)
    edit = _edit(words, build, job, done)
    written = _written(words, edit, done)
    return show_tuned(job, done, edit, False, written, words.as_json)


def _stopped(words: Search, end: KeyboardInterrupt) -> int:
    """Say what was kept of a stopped search, and how to go on."""
    from diodewright.tune.looks import Stopped

    if isinstance(end, Stopped) and end.path is not None:
        _tell(words, end)
    return _INTERRUPTED


def _tell(words: Search, end: "Stopped") -> None:
    click.echo(f"stopped; {end.said}; kept in {end.path}; to go on:", err=True)
    more = [f"--wish {words.wish}"] if words.wish else []
    more += [f"--front {words.front}"] if words.front else []
    more += [f"--least-minutes {words.least_minutes:g}"] if words.least_minutes is not None else []
    more += [f"--touch-degC {words.touch_degC:g}"] if words.touch_degC is not None else []
    more += [f"--also {key}" for key in words.also]
    more += [f"--seed {words.seed}"] if words.seed != 1 else []
    more += [f"--out {words.out}"] if words.out else []
    click.echo(f"  diodewright tune {words.build} {' '.join(more)} --resume {end.path}", err=True)
