"""Write hardware_notes/bring_up.md and acceptance.md from the shipped builds.

``python tools/write_bring_up_doc.py``; with ``--check`` it only says what is stale.
"""

import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT / "firmware"), str(ROOT / "tools")]

from bring_up_words import AFTER, BUILD, HEAT, INTRO, ORDER, SHEET, WIRING  # noqa: E402
from page import table, write_or_check  # noqa: E402

from diodedriver.selftest import STEPS  # noqa: E402
from diodewright.bench.checks import POINTS, assembly, guards_seen, levels  # noqa: E402
from diodewright.build import Build, load  # noqa: E402
from diodewright.derive.electrics import (  # noqa: E402
    highest_level_A,
    parameters,
    settle_on_mount,
)

NOTES = ROOT / "hardware_notes"
LIGHTS = ("smoke_tunnel", "cave_lamp", "gel_viewer")
#: What stands where the diode will -> steps of the page, and the build that says what it reads.
FED = (
    ("1, 2", "dummy string", "smoke_tunnel_dummy"),
    ("3, 4", "real diode", "smoke_tunnel"),
)


def _assembly() -> str:
    """Return the assembly's checks, one row a check, a column for each light's band."""
    found = {
        name: {check.do.split(",")[0]: check for check in assembly(load(name))} for name in LIGHTS
    }
    order = list(dict.fromkeys(key for name in LIGHTS for key in found[name]))
    rows = []
    for number, key in enumerate(order, start=1):
        first = next(found[name][key] for name in LIGHTS if key in found[name])
        do = key if len({found[n][key].do for n in LIGHTS if key in found[n]}) > 1 else first.do
        bands = (found[name][key].band if key in found[name] else "-" for name in LIGHTS)
        rows.append((number, do, first.read, *bands, first.means))
    return table(("", "do", "read", *LIGHTS, "a wrong reading means"), rows)


def _levels() -> str:
    """Return what every level reads on the way to the real diode."""
    rows = [
        (steps, fed, f"`{level.name}`", level.diode, level.output, level.source)
        for steps, fed, name in FED
        for level in levels(load(name))
    ]
    head = ("step", "feeds", "level", "diode current", "output", "from the full supply")
    return table(head, rows)


def _others() -> str:
    rows = [
        (f"`{name}`", f"`{level.name}`", level.diode, level.output, level.source)
        for name in LIGHTS[1:]
        for level in levels(load(name))
    ]
    return table(("light", "level", "diode current", "output", "from the full supply"), rows)


def _selftest() -> str:
    rows = [(number, name, points) for number, (name, *_, points) in enumerate(STEPS, start=1)]
    return table(("`*TST?`", "step", "look at"), rows)


def _heat(build: Build) -> tuple[object, ...]:
    """Return what heat does in one light: from the diode's chip to the air."""
    heat, limits = build.heat, build.limits
    point = settle_on_mount(parameters(build), highest_level_A(build), limits.mount_warm_degC)
    pad_K = (heat.mount_pad_K_W + heat.interface_K_W) * point.heat_W
    return (
        f"`{build.name}`",
        f"{point.heat_W:.2g} W",
        f"{point.junction_degC - point.mount_degC:.0f} K",
        f"{pad_K:.1f} K",
        f"{heat.sink_air_K_W * point.heat_W:.0f} K",
        f"{limits.mount_warm_degC:g} / {limits.mount_hot_degC:g} / {limits.mount_trip_degC:g} degC",
        f"{build.sensors.ntc_lag_s:g} s, {build.sensors.ntc_tolerance_degC:g} K",
    )


def bring_up() -> str:
    """Return the bring-up page."""
    bench, laser = load("smoke_tunnel_bench"), load("smoke_tunnel")
    names = {
        "loop_m": f"{laser.cutoffs.loop_uH:g}",
        "limit_A": f"{bench.pack.supply_limit_A:g}",
        "supply_V": f"{bench.pack.supply_V:g}",
        "trip_A": f"{laser.comparator.trip_max_A:g}",
        "start_A": f"{laser.limits.start_level_A:g}",
        "delay_s": f"{laser.limits.delay_s:g}",
        "string_V": f"{load('smoke_tunnel_dummy').diode.forward_points_A_V[-1][1]:g}",
        "string_A": f"{load('smoke_tunnel_dummy').diode.forward_points_A_V[-1][0]:g}",
    }
    head = ("light", "heat", "chip over mount", "mount over sink", "sink over air")
    head = (*head, "cutback begins / ends / trip", "thermistor: lag, tolerance")
    return "".join(
        (
            INTRO,
            _assembly(),
            ORDER.format(**names),
            _levels(),
            BUILD,
            _others(),
            AFTER,
            _selftest(),
            "\n## Jumpers and probe points\n",
            table(("point", "where", "for"), POINTS),
            WIRING.format(**names),
            table(head, (_heat(load(name)) for name in LIGHTS)),
            HEAT,
        )
    )


def acceptance() -> str:
    """Return the sheet: one table a light, empty columns to write in."""
    pages = [SHEET]
    for name in LIGHTS:
        build = load(name)
        rows = [
            (number, f"{check.do}: {check.read}", check.band, "", "")
            for number, check in enumerate(assembly(build), start=1)
        ]
        for level in levels(build):
            shown = f"{level.diode}; {level.output}; {level.source}"
            rows.append((len(rows) + 1, f"`{level.name}`: diode, output, supply", shown, "", ""))
        for do, band in guards_seen(build):
            rows.append((len(rows) + 1, do, band, "", ""))
        head = ("", "check", "must read", "measured", "ok")
        pages.append(f"\n## {name}\n" + table(head, rows))
    return "".join(pages)


def pages() -> dict[Path, str]:
    """Return every page that this tool writes, with its text."""
    return {NOTES / "bring_up.md": bring_up(), NOTES / "acceptance.md": acceptance()}


if __name__ == "__main__":
    sys.exit(max(write_or_check(path, text) for path, text in pages().items()))
