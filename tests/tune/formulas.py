"""Problems whose best choice is known by a formula: what a search is held against without a run."""

from collections.abc import Callable, Sequence

from diodewright.tune.choice import STAGES, Aim, Ask, Choice, Dial, Look, Problem, Row
from diodewright.tune.looks import Looks

Of = Callable[[Choice], float]


def row(id: str, room: float, scale: float = 1.0) -> Row:
    return Row(id, room, scale)


def looks_of(
    figures: dict[str, Of],
    rows: Sequence[tuple[str, int, Of]],
    start: Choice,
    high: float = 10.0,
    step: float = 0.001,
    asked: list[tuple[Choice, str]] | None = None,
    paths: Sequence[str] = (),
    scale: float = 1.0,
) -> Looks:
    """Return what looks at formulas; each row is found at a stage of `STAGES`."""
    names = paths or [f"k.{i}" for i in range(len(start))]
    dials = tuple(Dial(n, 0.0, high, step, at) for n, at in zip(names, start, strict=True))
    problem = Problem(dials, Aim("light"))

    def work(choice: Choice, depth: str) -> Look:
        if asked is not None:
            asked.append((choice, depth))
        reached: list[Row] = []
        for stage in range(1, STAGES[depth] + 1):
            reached += [row(id, of(choice), scale) for id, at, of in rows if at == stage]
            stopped = any(each.misses for each in reached) and not depth.endswith("+")
            if stopped and stage < STAGES[depth]:
                return Look({}, tuple(reached), stage, simulations=stage - 1)
        found = {name: of(choice) for name, of in figures.items()} if STAGES[depth] > 1 else {}
        return Look(found, tuple(reached), STAGES[depth], simulations=STAGES[depth] - 1)

    return Looks(problem, work)


LIGHT = Aim("light")


def asking(figure: str, least: float) -> Aim:
    return Aim("light", 1, (Ask(figure, 1, least, abs(least)),))
