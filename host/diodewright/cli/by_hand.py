"""`tune` by hand: one choice, a scan of one key or two, the loops.

Imported inside the verb, as all that is heavy.
"""

from pathlib import Path

from diodewright.build import Build, load, with_values
from diodewright.tune import context_of, evaluate, figure_named, needs_scipy, parsed

__all__ = ["choice", "chosen_of", "loops", "scan_of"]


def chosen_of(name: str, texts: tuple[str, ...]) -> tuple[Build, dict[str, object]]:
    """Return a build, and the values that ``--set`` gives, by key."""
    build = load(name)
    return build, dict(parsed(build, text) for text in texts)


def choice(build: Build, values: dict[str, object], seed: int, as_json: bool) -> int:
    """Evaluate one choice against the current settings and print both."""
    from concurrent.futures import ThreadPoolExecutor

    from diodewright.derive import settings
    from diodewright.report import screen

    settings(with_values(build, values))  # a mistake is told before anything is run
    context = context_of(build, seed)
    with ThreadPoolExecutor(2) as pool:  # the engine runs without the interpreter's lock
        now, then = pool.map(lambda each: evaluate(context, each), ({}, values))
    return screen.show_choice(build, now, then, as_json)


def loops(build: Build, values: dict[str, object], seed: int, as_json: bool) -> int:
    """Print how well the loops are damped."""
    needs_scipy()
    from diodewright.report.screen_loops import show_loops
    from diodewright.tune.loops import loops_of, mends_of

    context = context_of(with_values(build, values) if values else build, seed)
    found = loops_of(context)
    return show_loops(context.build, found, mends_of(context, found), as_json)


def scan_of(
    build: Build,
    values: dict[str, object],
    seed: int,
    as_json: bool,
    scanned: tuple[str, ...],
    points: int | None,
    figure: str,
    out: Path | None,
) -> int:
    """Go through one key or two and print, and draw, what each place gives."""
    import os
    from concurrent.futures import ThreadPoolExecutor

    from diodewright.report.files import make_folder
    from diodewright.report.screen_scan import show_scan
    from diodewright.tune.scan import POINTS, axis_of, scan

    context = context_of(build, seed)
    count = points or POINTS[len(scanned) - 1]
    axes = [axis_of(context, text, values, count) for text in scanned]
    figure_named(evaluate(context, {}, "use"), figure)
    if out:
        make_folder(out)
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        found = scan(context, axes, values, pool=pool)
    return show_scan(build, found, figure, out, as_json)
