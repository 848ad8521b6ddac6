"""A front as a file: what `--out` keeps and `--pick` reads."""

import json
from pathlib import Path
from typing import Any

from diodewright.tune.choice import Choice, Problem
from diodewright.tune.front import Point
from diodewright.tune.job import Job
from diodewright.tune.problems import TuneError

__all__ = ["FILE", "choice_of", "front_dict", "read_front"]

FILE = "front.json"
_FORMAT = 1


def front_dict(job: Job, other: str, points: tuple[Point, ...]) -> dict[str, Any]:
    """Return a front as plain values: what it is of, and each point by its name."""
    asked, problem = job.asked, job.looks.problem
    return {
        "format": _FORMAT,
        "build": job.build.name,
        "fingerprint": job.build.fingerprint,
        "wishes": [asked.wish, other],
        "least_minutes": asked.least_minutes,
        "touch_degC": asked.touch_degC,
        "also": list(asked.also),
        "seed": asked.seed,
        "simulations": job.looks.simulations,
        "points": [
            {
                "name": point.name,
                "values": problem.values(point.at),
                "choice": list(point.at),
                "figures": dict(point.look.figures),
            }
            for point in points
        ],
    }


def read_front(folder: Path) -> dict[str, Any]:
    """Return the front that a folder keeps.

    Raises
    ------
    TuneError
        There is none, or it can't be read.
    """
    path = folder / FILE
    try:
        held = json.loads(path.read_text("utf-8"))
        if held["format"] != _FORMAT:
            raise TuneError(f"{path}: format {held['format']}; this version reads {_FORMAT}")
        for name in ("fingerprint", "wishes", "least_minutes", "touch_degC", "also", "seed"):
            held[name]
        for point in held["points"]:
            point["name"], [float(value) for value in point["choice"]]
    except FileNotFoundError:
        raise TuneError(
            f"{path}: no front there; make one: diodewright tune BUILD --wish A --front B "
            f"--out {folder}"
        ) from None
    except (OSError, ValueError, KeyError, TypeError) as error:
        if isinstance(error, TuneError):
            raise
        raise TuneError(f"{path}: not a front: make it again") from error
    return dict(held)


def choice_of(held: dict[str, Any], name: str, fingerprint: str, problem: Problem) -> Choice:
    """Return the point of that name.

    Raises
    ------
    TuneError
        The front is of another build, or has no such point.
    """
    if held["fingerprint"] != fingerprint:
        raise TuneError("that front is of another build, or of this one before it was changed")
    points = {point["name"]: point["choice"] for point in held["points"]}
    if name not in points:
        known = ", ".join(points) or "none"
        raise TuneError(f"{name}: no point of that front; there are {known}")
    if len(points[name]) != len(problem.dials):
        raise TuneError("that front moves other keys: make it again")
    return tuple(float(value) for value in points[name])
