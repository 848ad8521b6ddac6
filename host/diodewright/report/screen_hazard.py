"""The hazard of one build on a screen: figures, rules, and what the hazard asks for.

A number in brackets leads to the rule below, with how well that rule is known.
"""

import math
import shlex
from collections.abc import Iterator
from functools import partial
from pathlib import Path

from rich.console import Console

from diodewright.build import Build
from diodewright.derive import settings
from diodewright.hazard.irradiance import irradiance_W_m2, pupil_irradiance_W_m2
from diodewright.hazard.laser_class import classify
from diodewright.hazard.sources import SOURCES, Source
from diodewright.rehearse import VERDICTS, Statement, state_hazard
from diodewright.rehearse.demands import BY_HAND, Demand
from diodewright.rehearse.hazard_laser import (
    LaserHazard,
    NamedBeam,
    class_source,
    skin_most_W_m2,
)
from diodewright.rehearse.hazard_led import LedHazard
from diodewright.rehearse.hazard_statement import HAZARD_LEAVES_OUT, NO_CERTIFICATE
from diodewright.rehearse.hazards import cautions_of
from diodewright.report.facts import rehearse_command
from diodewright.report.figure_hazard import hazard_figure
from diodewright.report.files import make_folder, write_together
from diodewright.report.hazard_document import along_m, hazard_document
from diodewright.report.screen_rehearsal import STYLES
from diodewright.report.terminal import (
    block,
    command,
    json_text,
    print_text,
    screen,
    table,
)
from diodewright.report.wording import number, prose, quantity
from diodewright.sim import compiled

__all__ = ["show_hazard"]


class _Rules:
    """The rules that the rows of one screen rest on, numbered as they come."""

    def __init__(self) -> None:
        self._marks: dict[str, int] = {}

    def mark(self, source: Source) -> str:
        """Return the mark of a rule, a new one where it has none."""
        return f"[{self._marks.setdefault(source.said, len(self._marks) + 1)}]"

    def lines(self) -> Iterator[str]:
        """Yield every rule with its mark."""
        for said, mark in self._marks.items():
            yield f"[{mark}] {said}"


def show_hazard(build: Build, seed: int, out: Path | None, as_json: bool) -> int:
    """State the hazard of `build`, print it, write it into `out`; return the exit code.

    Raises
    ------
    CannotWrite
        The folder can't be made or written; then no file is.
    DerivedError
        The build gives a settings word that the board would refuse.
    EngineError
        The compiled engine can't be made here.
    """
    settings(build)  # what the board would refuse is refused before a folder is made
    if out:
        make_folder(out)
    done = state_hazard(build, compiled(), seed)
    text = json_text(hazard_document(build, done))
    written = _write(build, done, text, out) if out else []
    if as_json:
        print_text(text)
    else:
        _as_text(build, done, written)
    return VERDICTS[done.verdict]


def _write(build: Build, done: Statement, text: str, out: Path) -> list[Path]:
    texts = {"hazard.json": text}
    if done.hazard.of is not None:
        texts["hazard.svg"] = hazard_figure(done.hazard.of, build.diode.emitter_mm2)
    return write_together(out, {name: partial(_put, each) for name, each in texts.items()})


def _put(text: str, path: Path) -> None:
    path.write_bytes(text.encode())


def _as_text(build: Build, done: Statement, written: list[Path]) -> None:
    out, rules = screen(), _Rules()
    of = done.hazard.of
    out.print(f"{done.verdict}  {build.name}: {_title(done)}", style=STYLES[done.verdict])
    block(out, "caution", [NO_CERTIFICATE, *(prose(line) for line in cautions_of(build))])
    block(out, "emission", _emission(done, rules))
    if isinstance(of, LaserHazard):
        _laser(out, of, done.emission.normal_most_W, rules)
    if isinstance(of, LedHazard):
        _led(out, build, of, rules)
    if of is not None and of.demands:
        _demands(out, of.demands, rules)
    block(out, "rules", rules.lines())
    block(out, "limits", HAZARD_LEAVES_OUT[done.kind])
    _verdict(out, done)
    _next(out, build, done, written)


def _title(done: Statement) -> str:
    of = done.hazard.of
    if isinstance(of, LaserHazard):
        return f"laser class {of.laser_class} at {of.wavelength_nm:g} nm with one fault"
    if isinstance(of, LedHazard):
        return f"LED risk group {of.risk.group} with one fault"
    return "dummy load: no light"


def _emission(done: Statement, rules: _Rules) -> Iterator[str]:
    found, seen, worst = done.emission, done.emission.brightest, done.emission.worst
    most = f"at most {quantity(found.normal_most_W, 'W')}, trim and tolerance, coldest diode"
    simulated = "not simulated"
    if found.normal_W is not None:
        simulated = f"{quantity(found.normal_W, 'W')} simulated, typical part"
    yield f"in normal use {simulated}; {most}"
    if seen is None:
        yield f"worst single fault not simulated: {found.missing}"
    else:
        yield (
            f"worst single fault {quantity(seen.light_W, 'W')} simulated: {seen.case}, "
            f"{quantity(seen.current_A, 'A')}; a transient counts as if it lasted"
        )
    yield (
        f"bound {quantity(worst.light_W, 'W')}: {worst.cause}, {quantity(worst.current_A, 'A')}; "
        f"below rests on {quantity(done.hazard.watts_W, 'W')} {rules.mark(SOURCES['single_fault'])}"
    )


def _laser(out: Console, of: LaserHazard, normal_W: float, rules: _Rules) -> None:
    _classes(out, of, normal_W, rules)
    _exposures(out, of, rules)
    _beams(out, of, rules)
    out.print()
    rows = [
        (
            row.situation,
            f"{number(row.time_s)} s, {number(row.limit_W_m2)} W/m²",
            number(row.distance_m),
            rules.mark(row.source),
        )
        for row in of.reaches
    ]
    table(out, (f"hazard distance, {of.worst_beam.name} beam", "exposure", "m", ""), rows, "m")
    out.print()
    block(out, "eyewear", _eyewear(of, rules))
    skin = of.exposures[-1].skin_W_m2
    block(
        out,
        "skin",
        [
            f"{number(skin_most_W_m2(of))} W/m² at the exit or a focus, {number(skin)} W/m² "
            f"allowed from 10 s on: burns nearer than {number(of.skin_distance_m)} m "
            f"{rules.mark(SOURCES['skin'])}"
        ],
    )


def _classes(out: Console, of: LaserHazard, normal_W: float, rules: _Rules) -> None:
    out.print()
    mark = rules.mark(class_source(of))
    base = rules.mark(SOURCES["time_base"])
    rows = [
        (
            f"class {row.laser_class}",
            quantity(1000 * row.limit_W, "mW") if math.isfinite(row.limit_W) else "no limit",
            f"{number(row.time_base_s)} s {base}" if row.time_base_s else "-",
            row.meaning,
            mark,
        )
        for row in of.limits
    ]
    table(out, ("laser", "up to", "time base", "what it means", ""), rows)
    source = "a point source" if of.source_mrad <= 1.5 else f"a source of {of.source_mrad:g} mrad"
    normal = classify(normal_W, of.wavelength_nm, of.source_mrad)
    lines = [
        f"class {of.laser_class} on all of {quantity(of.watts_W, 'W')}, {source}; in normal use "
        f"at most class {normal}"
    ]
    lines += [
        f"{number(row.aperture_mm)} mm at {number(row.at_m)} m takes "
        f"{quantity(row.power_W, 'W')} of the stated beam: class {row.laser_class} by that alone "
        f"{rules.mark(row.source)}"
        for row in of.conditions
    ]
    block(out, "class", lines)


def _exposures(out: Console, of: LaserHazard, rules: _Rules) -> None:
    out.print()
    rows = [
        (
            f"{number(row.time_s, 5)} s",
            number(row.eye.irradiance_W_m2),
            row.eye.governed_by,
            number(row.skin_W_m2),
            rules.mark(row.source),
        )
        for row in of.exposures
    ]
    table(out, ("exposure", "eye W/m²", "governed by", "skin W/m²", ""), rows)
    if of.chance_s > 1:
        block(out, "unseen", ["nobody turns away from light that is not seen: no 0.25 s"])


def _beams(out: Console, of: LaserHazard, rules: _Rules) -> None:
    out.print()
    heads = ("beam", "axis", "1/e mm", "1/e² mm", "1/e mrad", "1/e² mrad", "reaches m", "")
    table(out, heads, [row for each in of.beams for row in _beam(each, rules)])
    places = [
        f"{each.name}: {number(each.beam.waist_m)} m" for each in of.beams if each.beam.waist_m
    ]
    block(out, "waist", places)
    if len(of.beams) == 2:
        block(out, "", ["no lens stated: enclosure.lens_focal_mm works the beam out in both axes"])
    out.print()
    rows = [
        (
            f"at {at_m:g} m",
            number(irradiance_W_m2(of.watts_W, of.worst_beam.beam, at_m)),
            number(pupil := pupil_irradiance_W_m2(of.watts_W, of.worst_beam.beam, at_m)),
            f"{number(pupil / of.far[0].eye.irradiance_W_m2)} times",
        )
        for at_m in along_m(of.worst_beam.beam)
    ]
    look = f"of the limit for {number(of.chance_s)} s"
    table(out, (f"{of.worst_beam.name} beam", "middle W/m²", "7 mm pupil W/m²", look), rows)


def _beam(of: NamedBeam, rules: _Rules) -> Iterator[tuple[str, ...]]:
    """Yield a row for both axes where they are alike, else one for each."""
    beam, root = of.beam, math.sqrt(2)
    wide, high = (beam.wide_mm, beam.wide_mrad), (beam.high_mm, beam.high_mrad)
    axes = {"both": wide} if wide == high else {"along": wide, "across": high}
    last = number(of.distance_m), rules.mark(SOURCES["beam"])
    for axis, (mm, mrad) in axes.items():
        figures = (number(each) for each in (mm, root * mm, mrad, root * mrad))
        yield (of.name, axis, *figures, *(("", "") if axis == "across" else last))


def _eyewear(of: LaserHazard, rules: _Rules) -> Iterator[str]:
    if of.eyewear is None:
        yield (
            f"none that is rated stands a focus of {quantity(of.eyewear_mm, 'mm')}: keep it "
            f"enclosed {rules.mark(SOURCES['scale'])}"
        )
        return
    for each in of.eyewear:
        yield (
            f"{number(each.time_s, 5)} s: {each.marking}, OD {number(each.optical_density)}, so "
            f"{each.optical_density_at_least} or more "
            f"{rules.mark(SOURCES['scale'])} {rules.mark(SOURCES['density'])}"
        )
    if of.eyewear:
        yield (
            f"filter and frame must stand {quantity(of.watts_W, 'W')} in "
            f"{quantity(of.eyewear_mm, 'mm')}: the supplier must confirm; never to look into it"
        )


def _led(out: Console, build: Build, of: LedHazard, rules: _Rules) -> None:
    risk = of.risk
    look = "all day" if math.isinf(risk.longest_look_s) else quantity(risk.longest_look_s, "s")
    radiance = number(risk.blue_radiance_W_m2_sr)
    block(
        out,
        "group",
        [
            f"{risk.group} at 200 mm: {radiance} W/(m² sr) blue-weighted, bare "
            f"{build.diode.emitter_mm2:g} mm2 {rules.mark(SOURCES['group'])}, mean weighting "
            f"{number(risk.weighting)} {rules.mark(SOURCES['weighting'])}",
            f"longest look in a day, all looks together: {look} {rules.mark(SOURCES['look'])}",
            f"retinal heat, screened: {number(risk.thermal_share, 2)} of what would raise the "
            f"group {rules.mark(SOURCES['retinal'])}",
            *(f"not judged: {line}" for line in of.unjudged),
            of.measure,
        ],
    )
    falls = [
        f"{group} from {quantity(distance_m, 'm')} on" if distance_m else f"{group} at any distance"
        for group, distance_m in of.falls_to.items()
    ]
    angle = f"a beam of {of.beam_deg:g}° at half the intensity"
    block(out, "distance", [f"{'; '.join(falls)}; {angle} {rules.mark(SOURCES['small'])}"])


def _demands(out: Console, demands: tuple[Demand, ...], rules: _Rules) -> None:
    out.print()
    rows = [
        (
            demand.id.replace("_", " "),
            demand.status if demand.status != "no" else "NO",
            demand.has,
            rules.mark(Source(demand.rule, demand.marker)),
        )
        for demand in demands
    ]
    table(out, ("asked for", "there", "what the build has, or what to look at", ""), rows)
    out.print()


def _verdict(out: Console, done: Statement) -> None:
    of = done.hazard.of
    by_hand = sum(demand.status == BY_HAND for demand in of.demands) if of else 0
    first = "what it asks for is there, as far as a build file can say"
    if by_hand:
        first += f"; {by_hand} to look at by hand"
    if done.reasons:
        first = prose(done.reasons[0])
    code = VERDICTS[done.verdict]
    block(out, "verdict", [f"{done.verdict} (exit {code}): {first}"], STYLES[done.verdict])
    block(out, "", [prose(reason) for reason in done.reasons[1:]])


def _next(out: Console, build: Build, done: Statement, written: list[Path]) -> None:
    if written:
        block(out, "written", [str(path) for path in written])
    if not written:
        seed = f" --seed {done.seed}" if done.seed != 1 else ""
        block(out, "next", ["figure and document:"])
        named = shlex.quote(build.file)
        command(out, f"diodewright hazard {named} --out {build.name}_hazard{seed}")
        return
    block(out, "next", ["the whole build, judged:"])
    command(out, rehearse_command(build.file, done.seed))
