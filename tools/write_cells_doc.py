"""Write hardware_notes/cells.md: which cell carries which current, and what to be careful of.

``python tools/write_cells_doc.py``; with ``--check`` it only says whether it is stale. The tables
are made from the catalogue of cells and from the shipped builds.
"""

import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT / "tools")]

from page import table, write_or_check  # noqa: E402

from diodewright.build import CHEMISTRIES, load  # noqa: E402
from diodewright.build.part import Part  # noqa: E402
from diodewright.build.parts_cells import CELLS  # noqa: E402
from diodewright.derive import parts  # noqa: E402

PAGE = ROOT / "hardware_notes" / "cells.md"
LIGHTS = ("smoke_tunnel", "cave_lamp", "gel_viewer")
INTRO = """# Cells, eyes, rules

Written by `tools/write_cells_doc.py` from the catalogue of cells and the shipped builds. Nothing
here replaces the maker's data sheet of the very cell, nor the law of the place.

## Which cell carries which current

"Continuous" is what the maker allows between about 5 and 45 degC; in the cold some allow a sixth
of it. "Sags" is what its own resistance takes at that current, warm and fresh; a cold or old cell
takes two to three times as much.
"""
USE = """
A switching stage draws constant power: as the pack falls, its current rises. What the shipped
lights draw at their loaded minimum, with the diode of highest voltage, cold:
"""
REST = """
Above the cell's line: more cells in parallel, a larger size, a lower level. Sizes below 14500
carry no laser of this kind.

- **A protected cell's cut-off is a last resort.** It opens at once, at a voltage far below the
  law's, and the light goes from full to nothing; it may close again by itself. The law's cutback,
  lockout and loaded minimum come first. It does not replace F1 either.
- **Series cells** are of one kind, one age and one charge; fit and take them together. The law
  sees the whole pack, not each cell: the weaker of two is reversed unseen.
- **Low packs recover** at rest by some tenths of a volt a cell: that is why a lockout does not
  clear by itself.

## Charging, keeping, throwing away

- **Charging is none of this firmware's business.** Take the cells out; use a charger made for the
  chemistry, on a surface that does not burn, with somebody near. Never charge below 0 degC, nor a
  lithium cell that was below 2 V: copper may have dissolved (from memory; the maker's window
  decides).
- **Keep** lithium cells at about half charge, cool, in a case in which nothing can touch two
  terminals. Take the pack out of a light that is put away: the controller draws some
  milliamperes.
- **Venting.** A cell that hisses, swells, smells or is too hot to hold: away from people,
  outdoors, on stone; don't breathe it. Water cools and keeps neighbours from catching; a tube
  that is closed by threads needs a way for gas to leave.
- **Damaged, dented, unwrapped or unknown** cells are not used. Terminals taped, to a collection
  point.
- **Aeroplanes and post** have rules of their own for loose lithium cells.

## Eyes

| light | what stands between it and an eye |
| --- | --- |
| green laser, 520 nm | interlocked box; eyewear marked for 520 nm and the worst fault's power |
| blue LED, 470 nm | amber filter lid, interlocked; the filter's own data say so for this LED |
| white LED lamp | nothing but manners: not into faces, a diffuser for close work |

`diodewright rehearse smoke_tunnel` says class, distance and eyewear **with one fault**, not at
the set point. Eyewear is for a hit that nobody expects: nobody looks into a beam with it. Shiny
tools, watches and windows are mirrors. No blink is fast enough, and at 450 nm and below the eye
sees little of what burns it.

## Enclosure and interlock of a hazardous class

Class 3B and 4: light-tight cover that needs a tool or carries the interlock; every cover in the
loop, contacts that the cover pushes by force; key that can be taken out; indicator seen through
the eyewear, on before the light; a stop for the beam; label with class, power, wavelength; a
remote connector whose open terminals stop emission. The list of what each class asks for is in
the rehearsal's page. Closed and interlocked, the whole may be of a lower class: only a
measurement says so.

## Who decides

Local rules and, where they ask for it, a licensed or certified person: for use, for selling, for
showing in public, for the workplace and the school. A laser-safety officer is no ornament. These
pages are neither approval nor advice on law.
"""


def _value(part: Part, key: str) -> float:
    found = part.value(key)
    if found is None or not isinstance(found.value, (int, float)):
        raise RuntimeError(f"{part.name} has no {key}")
    return float(found.value)


def _cells() -> list[tuple[str, ...]]:
    rows = []
    for part in CELLS:
        at_A = _value(part, "discharge_continuous_A")
        ohm = _value(part, "cell_resistance_mohm") / 1000
        numbers = (f"{at_A:g} A", f"{at_A * ohm:.2f} V", f"{at_A * at_A * ohm:.2g} W")
        rows.append((f"`{part.name}`", part.meaning, *numbers))
    return rows


def _lights() -> list[tuple[str, ...]]:
    rows = []
    for name in LIGHTS:
        build = load(name)
        pack, drawn_A = build.pack, parts.pack_peak_A(build)
        allowed_A = pack.discharge_continuous_A * pack.parallel
        rows.append(
            (
                f"`{name}`",
                f"{pack.series} x {pack.parallel} `{pack.part}`",
                f"{drawn_A:.2f} A",
                f"{allowed_A:g} A",
                f"{100 * drawn_A / allowed_A:.0f} %",
            )
        )
    return rows


def page() -> str:
    """Return the whole page."""
    cautions = "\n".join(f"- **{each.text}**: {each.caution}" for each in CHEMISTRIES.values())
    return "".join(
        (
            INTRO,
            table(("catalogue", "cell", "continuous", "sags", "heat in it"), _cells()),
            USE,
            table(("light", "pack", "draws", "cells allow", "used"), _lights()),
            f"\n{cautions}\n",
            REST,
        )
    )


if __name__ == "__main__":
    sys.exit(write_or_check(PAGE, page()))
