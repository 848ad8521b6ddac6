"""One tuning from what was asked to what is handed back: search, judges, prices; or a front."""

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field
from pathlib import Path

from diodewright.build import Build, with_values
from diodewright.sim import law_hash
from diodewright.tune.choice import Aim, Choice, Look, Problem, Row, better, missed
from diodewright.tune.climb import put_back
from diodewright.tune.context import Context, context_of
from diodewright.tune.dials import dials_of
from diodewright.tune.front import Point, front
from diodewright.tune.looks import Looks, Stopped
from diodewright.tune.of_build import BuildWork
from diodewright.tune.parts_priced import parts_of
from diodewright.tune.search import Effort, Found, Tuned, search, tuned
from diodewright.tune.verified import Verified, verify
from diodewright.tune.why import PartPrice, Why, part_prices, why
from diodewright.tune.wishes import aim_of

__all__ = ["Asked", "Job", "begun", "picked", "run_front", "run_search"]


@dataclass(frozen=True)
class Asked:
    """What a builder asks of a tuning.

    Attributes
    ----------
    wish : of `wishes.WISHES`.
    least_minutes : light from one full pack [min]; None where nothing is asked.
    touch_degC : the sink's highest temperature in place of the build's; None for that.
    also : keys that are searched beside the levels and limits.
    seed : of the search and of the sensors' noise.
    """

    wish: str
    least_minutes: float | None = None
    touch_degC: float | None = None
    also: tuple[str, ...] = ()
    seed: int = 1

    @property
    def aim(self) -> Aim:
        """The aim that it comes to."""
        return aim_of(self.wish, self.least_minutes)


@dataclass(frozen=True)
class Job:
    """A tuning at work.

    Attributes
    ----------
    build : with the asked touch temperature, if any.
    looks : what was seen of it.
    """

    asked: Asked
    build: Build
    context: Context
    looks: Looks


def begun(
    build: Build,
    asked: Asked,
    pool: Executor | None = None,
    file: Path | None = None,
    on_stop: Path | None = None,
) -> Job:
    """Return a tuning that has seen nothing yet, or what `file` kept.

    Raises
    ------
    TuneError
        A key that is no number of this build; a file that was kept for something else.
    BuildErrors
        The asked touch temperature contradicts the build.
    DerivedError
        The build as it is gives a settings word that the board would refuse.
    """
    if asked.touch_degC is not None:
        build = with_values(build, {"heat.sink_touch_max_degC": asked.touch_degC})
    problem = Problem(dials_of(build, asked.also), asked.aim)
    context = context_of(build, asked.seed)
    of = {
        "build": build.fingerprint,
        "law": law_hash(),
        "seed": asked.seed,
        "keys": [dial.path for dial in problem.dials],
    }
    work = BuildWork(problem, context)
    return Job(asked, build, context, Looks(problem, work, pool, file, of, on_stop))


@dataclass(frozen=True)
class Result:
    """What a search hands back.

    Attributes
    ----------
    tuned : the settings, and the judges' word.
    why : what binds them; None where nothing holds.
    parts : what better parts would buy.
    """

    tuned: Tuned
    why: Why | None
    parts: tuple[PartPrice, ...] = field(default=())


def run_search(
    job: Job,
    effort: Effort | None = None,
    say: Callable[[str], None] = lambda _: None,
    judge: Callable[[Build], Verified] | None = None,
) -> Result:
    """Search, let the judges hear the result, and say what binds it.

    Raises
    ------
    Stopped
        Ctrl-C; what was seen is kept where the job says.
    """
    try:
        found = search(job.looks, job.asked.aim, job.asked.seed, effort, say)
        return _judged(job, found, effort, say, judge)
    except Stopped:
        raise
    except KeyboardInterrupt as end:
        raise job.looks.stopped() from end


def _judged(
    job: Job,
    found: Found,
    effort: Effort | None,
    say: Callable[[str], None],
    judge: Callable[[Build], Verified] | None,
) -> Result:
    seed, engine = job.asked.seed, job.context.engine
    heard = judge or (lambda build: verify(build, seed, engine, say))
    done = tuned(job.build, job.looks, found, job.asked.aim, heard, effort, say)
    if done.verified is None:
        return Result(done, None)
    say("prices")
    held = why(job.looks, done.aim, done.found.at)
    return Result(done, held, _parts(job, done, held))


def _parts(job: Job, done: Tuned, held: Why) -> tuple[PartPrice, ...]:
    def aside(changed: Sequence[tuple[str, float]]) -> list[Look]:
        works = [BuildWork(job.looks.problem, job.context, (each,)) for each in changed]
        return job.looks.aside(works, done.found.at, f"{held.depth}+")

    return part_prices(held, done.aim, parts_of(job.build), aside)


def run_front(
    job: Job,
    other: str,
    effort: Effort | None = None,
    say: Callable[[str], None] = lambda _: None,
) -> tuple[Point, ...]:
    """Return the front of the asked wish and another.

    Raises
    ------
    Stopped
        Ctrl-C; what was seen is kept where the job says.
    """
    second = aim_of(other, job.asked.least_minutes)
    try:
        return front(job.looks, job.asked.aim, second, job.asked.seed, effort, say)
    except Stopped:
        raise
    except KeyboardInterrupt as end:
        raise job.looks.stopped() from end


def picked(
    job: Job,
    at: Choice,
    others: Sequence[Aim],
    say: Callable[[str], None] = lambda _: None,
    judge: Callable[[Build], Verified] | None = None,
) -> Result:
    """Let the judges hear one point of a front; it is not searched on from where they say no.

    What it need not move goes back, as far as neither wish loses by it.
    """
    aims = [job.asked.aim, *others]
    for aim in aims:
        back = put_back(job.looks, aim, at)
        whole, here = job.looks.one(back, "full"), job.looks.one(at, "full")
        if not any(better(here, whole, each) for each in aims):
            at = back
    look, start = job.looks.one(at, "full"), job.looks.problem.start
    found = Found(start, job.looks.one(start, "full"), at, look)
    seed, engine = job.asked.seed, job.context.engine
    missing: tuple[Row, ...] = missed(look, job.asked.aim)
    turned = with_values(job.build, job.looks.problem.values(at))
    heard = (judge or (lambda build: verify(build, seed, engine, say)))(turned)
    return Result(Tuned(found, job.asked.aim, turned, heard, (), missing), None)
