"""What `tune --loops` prints: each loop in time and made linear, and what stops one that hunts."""

import dataclasses
from typing import Any

from diodewright.build import Build
from diodewright.report.terminal import block, print_json, screen, table
from diodewright.report.wording import number, prose, unit_text
from diodewright.tune.hunting import HUNTING_PCT
from diodewright.tune.loop_model import Margins
from diodewright.tune.loop_runs import Response
from diodewright.tune.loops import Looked, Mend

__all__ = ["show_loops"]

_LIMITS = (
    "linear loops leave out slew, authority, caps and noise; runs have them; the cutback is run on "
    "a pack that stays full, the auto-off held back"
)
_GATED = "a gated stage is on or off: it has no partial current and no loop"


def show_loops(
    build: Build, found: tuple[Looked, ...], mends: tuple[Mend, ...], as_json: bool
) -> int:
    """Print the loops of a build; return 0 where none hunts, else 1."""
    hunts = [row for row in found if row.hunts]
    if as_json:
        print_json(
            {
                "build": build.name,
                "verdict": "FAILS" if hunts else "HOLDS",
                "hunting_limit_pct": HUNTING_PCT,
                "loops": [_plain(row) for row in found],
                "mends": [
                    {"loop": row.loop, "parts": row.parts, "key": row.key, "value": row.value}
                    for row in mends
                ],
            }
        )
    else:
        _as_text(build, found, mends, hunts)
    return 1 if hunts else 0


def _plain(row: Looked) -> dict[str, Any]:
    return dataclasses.asdict(row) | {"hunts": row.hunts, "swing_pct": row.swing_pct}


def _as_text(
    build: Build, found: tuple[Looked, ...], mends: tuple[Mend, ...], hunts: list[Looked]
) -> None:
    out = screen()
    said = f"{len(hunts)} of {len(found)} hunt" if hunts else "no loop hunts"
    style = "bold red" if hunts else "bold green"
    out.print(f"{'FAILS' if hunts else 'HOLDS'}  loops of {build.name}: {said}", style=style)
    out.print()
    if not found:
        block(out, "none", [_GATED])
        return
    margins = [_margin(row, name, of) for row in found for name, of in row.margins.items()]
    if margins:
        table(out, ("linear loop", "parts", "phase margin", "gain margin", "would swing"), margins)
        out.print()
    steps = [_step(row, of) for row in found for of in row.responses]
    if steps:
        heads = ("loop", "parts", "step", "rise", "over", "settled", "swing after", "every")
        table(out, heads, steps)
    for row in found:
        mark = "HUNTS" if row.hunts else row.loop
        code = "" if row.code_pct is None else f"; one code moves it by {row.code_pct:.2g} %"
        style, told = ("bold red", f"{row.loop}, ") if row.hunts else ("", "")
        block(out, mark, [prose(f"{told}{row.parts} parts: {row.said}{code}")], style)
    for mend in mends:
        block(out, "mend", [_mend(mend)], "bold")
    block(out, "limits", [f"hunting: a swing above {HUNTING_PCT:g} %; {_LIMITS}"])


def _margin(row: Looked, name: str, of: Margins) -> tuple[str, str, str, str, str]:
    phase = "any" if of.phase_deg is None else f"{of.phase_deg:.0f}°"
    gain = "any" if of.gain_dB is None else f"{of.gain_dB:.1f} dB"
    return name, row.parts, phase, gain, _every(of.period_s)


def _every(period_s: float | None) -> str:
    return "" if period_s is None else f"every {_time(period_s)}"


def _time(seconds: float | None) -> str:
    if seconds is None:
        return "never"
    if seconds < 1:
        return f"{number(1000 * seconds)} ms"
    return f"{number(seconds)} s"


def _step(row: Looked, of: Response) -> tuple[str, ...]:
    return (
        row.loop,
        row.parts,
        of.step,
        _time(of.rise_s),
        f"{of.overshoot_pct:.2g} %",
        _time(of.settle_s),
        f"{100 * of.swing.share:.2g} %",
        "" if of.swing.period_s is None else _time(of.swing.period_s),
    )


def _mend(mend: Mend) -> str:
    if mend.value is None:
        return f"{mend.loop}, {mend.parts} parts: nothing along {mend.key} stops it"
    unit = unit_text(mend.unit)
    return (
        f"{mend.key} = {mend.value:g}{f' ({unit})' if unit else ''} stops it with {mend.parts} "
        f"parts: {mend.looked.swing_pct:.2g} % left"
    )
