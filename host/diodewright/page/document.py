"""The page itself: one document, made for one build and one kind of source, and its files.

What a page does not need is not served: a page that watches a board has no script with a trigger.
"""

from collections.abc import Iterator, Sequence
from functools import cache
from importlib import resources
from typing import Any

import jinja2

from diodewright.build import Build
from diodewright.page.curves import plots_of
from diodewright.page.hands import breakable, controls_of
from diodewright.page.mends import GROUPS, group_of
from diodewright.page.pace import FASTEST
from diodewright.page.tuning import FIGURES
from diodewright.report import wording
from diodewright.report.facts import CODES
from diodewright.report.fault_map import NO_CASE
from diodewright.tune import TuneKey

__all__ = ["FILES", "files_of", "page_text"]

#: Files of every page, with their types.
FILES: dict[str, str] = {
    "style.css": "text/css",
    "uPlot.min.css": "text/css",
    "uPlot.iife.min.js": "text/javascript",
    "main.js": "text/javascript",
    "link.js": "text/javascript",
    "bins.js": "text/javascript",
    "plots.js": "text/javascript",
    "words.js": "text/javascript",
    "icon.svg": "image/svg+xml",
}
#: Files of a page of that kind alone.
_OF_KIND: dict[str, tuple[str, ...]] = {
    "light": ("hands.js", "clock.js"),
    "board": ("off.js",),
    "record": ("clock.js",),
}
_TUNED = ("tune.js", "map.js")
_TITLES = {
    "light": "A light on trial, simulated",
    "board": "A board, watched",
    "record": "A recording, watched",
}
_SPEEDS = (1, 2, 5, 10, 20, 50, FASTEST)


def _environment() -> jinja2.Environment:
    environment = jinja2.Environment(
        loader=jinja2.ChoiceLoader(
            [
                jinja2.PackageLoader("diodewright.page", "assets"),
                jinja2.PackageLoader("diodewright.report"),
            ]
        ),
        autoescape=jinja2.select_autoescape(["html.j2"]),
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters |= {
        "unit": wording.unit_text,
        "prose": wording.prose,
        "plain": "{:g}".format,
    }
    return environment


def page_text(
    build: Build,
    kind: str,
    columns: Sequence[str],
    seed: int = 1,
    tuned: Sequence[TuneKey] = (),
) -> str:
    """Return the document for a source of `kind` that knows `columns`.

    `tuned` are the settings that have sliders.
    """
    light = kind == "light"
    parts: dict[str, list[Any]] = {}
    for fault in breakable(build).values() if light else ():
        parts.setdefault(fault.part, []).append(fault)
    return (
        _environment()
        .get_template("page.html.j2")
        .render(
            build=build,
            kind=kind,
            seed=seed,
            controls=controls_of(build) if light else (),
            parts=parts,
            faults=sum(map(len, parts.values())),
            speeds=_SPEEDS,
            tune=_tune_parts(tuned) if tuned else None,
            titles=_TITLES,
            contents=list(_contents(kind, bool(tuned))),
            columns=columns,
            plots=plots_of(columns),
            scripts=["main.js", *_OF_KIND[kind], *(_TUNED if tuned else ())],
            laser=build.diode.kind == "laser_diode",
        )
    )


def _contents(kind: str, tuned: bool) -> Iterator[tuple[str, str]]:
    """Yield anchor and title of each section."""
    yield "stands", "How it stands"
    if kind == "light":
        yield "hand", "Hand on the light"
    if kind != "board":
        yield "time", "Time"
    yield "curves", "Curves"
    if kind == "light":
        yield "break", "Break and mend parts"
        yield "keep", "Keep this run"
    if tuned:
        yield "tune", "Settings"


def _tune_parts(keys: Sequence[TuneKey]) -> dict[str, Any]:
    """Return what the settings' part of the document is made of."""
    groups = [(title, [key for key in keys if group_of(key.path) == title]) for title, _ in GROUPS]
    return {"groups": groups, "figures": FIGURES, "codes": CODES, "no_case": NO_CASE}


@cache
def _asset(name: str) -> bytes:
    folder = resources.files("diodewright.page").joinpath("assets")
    place = folder.joinpath("uplot", name) if name.startswith("uPlot") else folder.joinpath(name)
    return place.read_bytes()


def files_of(kind: str, tuned: bool) -> dict[str, tuple[bytes, str]]:
    """Return name -> (content, type) of what a page of `kind` may ask for."""
    names = dict(FILES) | dict.fromkeys(_OF_KIND[kind], "text/javascript")
    if tuned:
        names |= dict.fromkeys((*_TUNED, "use.js"), "text/javascript")
    style = _environment().get_template("style.css.j2").render()
    found = {name: (_asset(name), type_) for name, type_ in names.items() if name != "style.css"}
    found["style.css"] = ((style + _asset("live.css").decode()).encode(), "text/css")
    return found
