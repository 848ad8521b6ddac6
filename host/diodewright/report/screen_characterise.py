"""A diode characterised, on a screen: cautions and plan, the sweep, what it says."""

import math
import shlex
import sys
from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from dataclasses import asdict, dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

from rich.console import Console

from diodewright.bench import BenchError, Line
from diodewright.bench.incoming import (
    Finding,
    by_light,
    by_trickle,
    knee_band,
    light_bound_A,
    read_knee,
)
from diodewright.bench.meters import open_meter
from diodewright.bench.sweep import STOPS, Plan, Stop, Trail, replayed
from diodewright.bench.sweep_csv import as_csv, read_sweep
from diodewright.bench.sweep_fit import Figure
from diodewright.bench.sweep_plan import class_bound_A, planned, predicted_steps
from diodewright.bench.sweep_result import BLIND, Result, document, result_of
from diodewright.bench.sweep_run import sweep_board
from diodewright.build import Build
from diodewright.derive.worst import worst_light
from diodewright.rehearse import VERDICTS
from diodewright.rehearse.hazards import hazard_of
from diodewright.report.figure_sweep import sweep_figure
from diodewright.report.files import make_folder, write_together
from diodewright.report.screen_rehearsal import STYLES
from diodewright.report.terminal import block, command, json_text, print_text, progress, screen
from diodewright.report.wording import prose

__all__ = ["Asked", "show_characterise", "show_incoming"]

#: One reading a step: steps are wider, or a hand would never get through.
_ONE_READING_STEP = 0.04
_INCOMING = {"fine": "HOLDS", "not judged": "INCOMPLETE"}


@dataclass(frozen=True)
class Asked:
    """What the command line asked for; None where it said nothing."""

    build_argument: str
    port: str | None = None
    meter: str | None = None
    table: str | None = None
    out: Path | None = None
    name: str | None = None
    bound_A: float | None = None
    step_pct: float | None = None
    stop_slope_pct: float | None = None
    settle_s: float | None = None
    rest_s: float | None = None
    meter_pct: float = 5.0
    as_json: bool = False

    @property
    def one_reading(self) -> bool:
        """Whether the meter is read once a step: by a person, or from a file."""
        return self.meter is not None and not self.meter.startswith("visa:")


def show_characterise(build: Build, asked: Asked) -> int:
    """Sweep a diode, or judge a table of an old sweep; print it; return the exit code.

    Raises
    ------
    BenchError
        What was asked for is not allowed, or port, meter or table can't be used.
    CannotWrite
        The folder can't be made or written.
    """
    plan = _plan(build, asked)
    if asked.out:
        make_folder(asked.out)
    if asked.table is None and asked.port is None:
        return _only_plan(build, plan, asked)
    if asked.table is not None:
        trail, stop = replayed(read_sweep(asked.table, plan), plan)
    else:
        trail, stop = _measured(build, plan, asked)
    found = result_of(build, plan, trail, stop, asked.meter_pct, _name(build, asked))
    written = _write(found, asked.out) if asked.out else []
    if asked.as_json:
        print_text(json_text(document(found)))
    else:
        _tell(screen(), found, written, asked)
    return VERDICTS[found.verdict]


def show_incoming(build: Build, asked: Asked) -> int:
    """Test an incoming diode on a board, with light where there is a meter; return the exit code.

    Raises
    ------
    BenchError
        As `show_characterise`.
    """
    if asked.port is None:
        raise BenchError("--incoming asks a board: give its --port")
    plan = _short(build, asked)
    band = knee_band(build)
    if not asked.as_json:
        _before(screen(), build, plan if asked.meter else None)
    with Line(asked.port) as line:
        if line.identity.build != build.fingerprint[:16]:
            raise BenchError(f"{line.name}: flashed for another build than {build.name}")
        knee = read_knee(line)
    finding, trail = by_trickle(knee, build), None
    if finding.verdict == "fine" and asked.meter:
        trail, stop = _measured(build, plan, asked, quiet=True)
        found = result_of(build, plan, trail, stop, asked.meter_pct, _name(build, asked))
        finding = by_light(trail, stop, found.fits, build, plan)
    verdict = _INCOMING.get(finding.verdict, "FAILS")
    if asked.as_json:
        body = {
            "what": "incoming",
            "build": build.name,
            "verdict": verdict,
            "finding": asdict(finding),
            "knee_V": knee.output_V,
            "self_test_step": knee.failed,
            "band": asdict(band),
            "with_light": trail is not None,
            "points": [] if trail is None else [asdict(point) for point in trail.points],
        }
        print_text(json_text(body))
    else:
        _tell_incoming(screen(), finding, band.resolved_A, asked.meter is not None)
    return VERDICTS[verdict]


def _plan(build: Build, asked: Asked) -> Plan:
    given = {"settle_s": asked.settle_s, "rest_s": asked.rest_s}
    own: dict[str, float] = {name: value for name, value in given.items() if value is not None}
    if asked.stop_slope_pct is not None:
        own["stop_slope"] = asked.stop_slope_pct / 100
    step = None if asked.step_pct is None else asked.step_pct / 100
    if asked.one_reading:
        own["readings"] = own["readings_most"] = 1
        step = step or _ONE_READING_STEP
    return planned(build, asked.bound_A, step, **own)


def _short(build: Build, asked: Asked) -> Plan:
    """Return the plan of an incoming test: little more than the threshold."""
    most_A = light_bound_A(build, class_bound_A(build))
    bound_A = most_A if asked.bound_A is None else min(asked.bound_A, most_A)
    plan = _plan(build, replace(asked, bound_A=bound_A))
    return replace(plan, fine=max(plan.fine, 0.02))


def _name(build: Build, asked: Asked) -> str:
    return asked.name or f"{build.name[:30]}_own"


def _measured(build: Build, plan: Plan, asked: Asked, quiet: bool = False) -> tuple[Trail, Stop]:
    """Run the sweep at the board; the plan is on the screen before its first step."""
    assert asked.port is not None
    if not asked.as_json and not quiet:
        _before(screen(), build, plan)
    with (
        open_meter(asked.meter or "typed", "light", "W") as meter,
        Line(asked.port) as line,
        _saying(asked) as say,
    ):
        return sweep_board(line, build, meter, plan, say)


def _saying(asked: Asked) -> AbstractContextManager[Callable[[str], None]]:
    """Return what says each step: in place where stderr is a screen that nobody types on."""
    if sys.stderr.isatty() and not asked.one_reading:
        return progress()
    return nullcontext(lambda text: print(text, file=sys.stderr, flush=True))


# before the first step


def _only_plan(build: Build, plan: Plan, asked: Asked) -> int:
    if asked.as_json:
        print_text(json_text({"what": "plan", "build": build.name, "plan": asdict(plan)}))
        return 0
    out = screen()
    _before(out, build, plan)
    block(out, "next", ["flash this build, put the power meter into the beam, then"])
    command(
        out,
        f"diodewright characterise {shlex.quote(asked.build_argument)} --port PORT "
        "--meter visa:RESOURCE --out DIR",
    )
    return 0


def _before(out: Console, build: Build, plan: Plan | None) -> None:
    """Print cautions and, where there will be light, the plan."""
    block(out, "caution", [prose(line) for line in _cautions(build)])
    if plan is not None:
        block(out, "plan", [prose(line) for line in _planned_lines(build, plan)])
    sys.stdout.flush()


def _cautions(build: Build) -> list[str]:
    hazard = hazard_of(build, worst_light(build), [])
    eyes = [line for line in hazard["lines"] if line.startswith("eyewear")]
    return [
        *(eyes or ["never look into the light, nor through a lens at it"]),
        "the power meter's head is the beam stop: fixed, rated for the light, nothing shiny about",
        "strap yourself to ground through 1 Mohm; keep the diode's pins shorted until it is fitted",
        "never alone; a dummy load had this board first; covers on, hand on the trigger: letting "
        "go ends it",
    ]


def _planned_lines(build: Build, plan: Plan) -> list[str]:
    steps_A = predicted_steps(build, plan)
    step_s = plan.settle_s + plan.rest_s + 0.05 * plan.readings + 0.5
    return [
        f"from {plan.start_A:.3f} to {plan.bound_A:.3f} A asked for, so that the true mean stays "
        f"below {class_bound_A(build):.3f} A, the most that class and build allow (ripple on top)",
        f"up to {len(steps_A)} steps of {100 * plan.fine:.3g} % with light, {100 * plan.coarse:.3g}"
        f" % before; {plan.settle_s:g} s to settle, {plan.rest_s:g} s of rest at the start level; "
        f"some {math.ceil(len(steps_A) * step_s / 60)} min with the trigger held",
        f"ends at the first sign: slope under {100 * plan.stop_slope:.0f} % of its highest, a "
        f"change of slope of {100 * plan.kink:.0f} %, light or voltage off its line, or the bound",
        f"sees only what begins {100 * plan.sees_from:.0f} % or more below damage; {BLIND}",
    ]


# what was found


def _tell(out: Console, found: Result, written: list[Path], asked: Asked) -> None:
    stop, build = found.stop, found.build
    ended = "the table ends before the sweep would" if stop is None else f"ended by {stop.kind}"
    at = "" if stop is None else f" at {stop.at_A:.3f} A"
    out.print(f"{found.verdict}  {build.name}: {ended}{at}", style=STYLES[found.verdict])
    if stop is not None:
        block(out, "why", [f"{STOPS[stop.kind]}: {stop.why}"])
    if found.fits is None:
        block(out, "found", [f"nothing is fitted: {found.unfitted}"])
    else:
        block(out, "found", [prose(line) for line in _found_lines(found)])
    if found.recommended_A is not None:
        rules = [prose(f"{most_A:.2f} A: {why}") for most_A, why in found.rules]
        block(out, "use", [rules[0], *(f"not above {rule}" for rule in rules[1:])])
    block(out, "limits", [BLIND])
    if written:
        block(out, "written", [str(path) for path in written])
    elif found.part is not None:
        block(out, "next", ["keep table, figure and catalogue entry with --out DIR"])
    if asked.port is not None:
        block(out, "board", ["its current limit stays at the bound until it starts anew"])


def _found_lines(found: Result) -> list[str]:
    fits = found.fits
    assert fits is not None
    lines = []
    if fits.threshold_A is not None:
        bend = "" if fits.bend_A is None else f"; second derivative {fits.bend_A:.3f} A"
        lines.append(f"threshold {_pm(fits.threshold_A, 4)} A by two segments{bend}")
        lines.append(f"threshold at a 25 degC junction {_pm(fits.threshold_25_A, 4)} A")
    lines.append(
        f"slope {_pm(fits.slope_W_A, 3)} W/A at its highest; {_pm(fits.slope_25_W_A, 3)} W/A at a "
        "25 degC junction"
    )
    T1 = fits.slope_T1_K
    lines.append(
        "T1 not resolved, its class's is kept"
        if T1 is None
        else f"T1 {_pm(T1, 0)} K, by the build's own junction to mount"
    )
    lines.append(
        f"series resistance {1000 * fits.rs_ohm.value:.0f} +- "
        f"{1000 * fits.rs_ohm.error:.0f} mohm at 25 degC, leads taken off by the build"
    )
    return lines


def _pm(figure: Figure, digits: int) -> str:
    return f"{figure.value:.{digits}f} +- {figure.error:.{digits}f}"


def _tell_incoming(out: Console, finding: Finding, resolved_A: float, lit: bool) -> None:
    verdict = _INCOMING.get(finding.verdict, "FAILS")
    out.print(f"{verdict}  the diode is {finding.verdict}", style=STYLES[verdict])
    block(out, "why", [finding.why])
    limits = [
        f"the trickle itself is below what one reading of the shunt resolves "
        f"({1000 * resolved_A:.1f} mA): its current is taken from the parts, not measured",
        "a leak that takes far less than the trickle is not seen",
    ]
    if not lit:
        limits.append("weak or fine is told with light only: give a --meter")
    block(out, "limits", limits)


def _write(found: Result, out: Path) -> list[Path]:
    notes: dict[str, Any] = {
        "recorder": "sweep",
        "build": found.build.name,
        "fingerprint": found.build.fingerprint,
        "stop": "none" if found.stop is None else f"{found.stop.kind}, {found.stop.why}",
    }
    texts = {
        "sweep.csv": as_csv(found.trail.points, notes),
        "characterise.json": json_text(document(found)),
        "sweep.svg": sweep_figure(found),
    }
    if found.part is not None:
        texts["part.toml"] = found.part
    return write_together(out, {name: partial(_put, text) for name, text in texts.items()})


def _put(text: str, path: Path) -> None:
    path.write_bytes(text.encode())
