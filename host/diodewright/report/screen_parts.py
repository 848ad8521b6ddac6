"""The list of parts: one table a kind to choose from, and all values of one part.

A number in brackets leads to the source below the table: beside a part's name it holds for the
whole row but for values that carry one of their own.
"""

import dataclasses
from collections import Counter
from collections.abc import Sequence
from itertools import groupby

from rich.console import Console

from diodewright.build import (
    BuildErrors,
    Part,
    Problem,
    Value,
    fit_forward,
    fit_light,
    is_path,
    parts,
    read_parts,
)
from diodewright.build.names import nearest
from diodewright.report.terminal import block, command, print_json, screen, table
from diodewright.report.wording import number

__all__ = ["show_parts"]

#: Key of a build file -> its parts' trade name, and the columns by which one chooses: head, key.
#: ``forward_points_A_V`` and ``light_points_A_W`` are shown at the rated current.
_KINDS: dict[str, tuple[str, tuple[tuple[str, str], ...]]] = {
    "pack.part": (
        "Cells",
        (
            ("Ah", "capacity_Ah"),
            ("mohm", "cell_resistance_mohm"),
            ("A", "discharge_continuous_A"),
            ("chemistry", "chemistry"),
        ),
    ),
    "cutoffs.a_part": (
        "MOSFETs",
        (
            ("mohm", "a_rds_mohm"),
            ("at V", "a_vgs_guaranteed_V"),
            ("%/K", "a_tempco_pct_K"),
            ("K/W", "a_theta_K_W"),
        ),
    ),
    "diode.part": (
        "Diodes",
        (
            ("nm", "wavelength_nm"),
            ("rated A", "rated_A"),
            ("V", "forward_points_A_V"),
            ("W", "light_points_A_W"),
            ("max A", "absolute_A"),
            ("max degC", "junction_max_degC"),
        ),
    ),
    "sensors.ntc_part": (
        "Thermistors",
        (("equation", "ntc_curve"), ("kohm", "ntc_25_kohm"), ("Beta K", "ntc_beta_K")),
    ),
}
#: A console narrower than this has no room for what a part is; its own listing says it.
_WIDE = 110
#: What needs no mark: the name says it.
_PLAIN = "by name"


def show_parts(as_json: bool, which: str | None = None) -> None:
    """Print the parts that a build file may name.

    Parameters
    ----------
    as_json : one JSON document instead of tables.
    which : None lists the shipped parts; the name of one shows all its values; a path lists the
        parts of that file.

    Raises
    ------
    BuildErrors
        There is no such part, or the file of parts is wrong.
    """
    chosen = _chosen(which)
    if as_json:
        print_json({"parts": [dataclasses.asdict(part) for part in chosen]})
        return
    out = screen()
    if which and not is_path(which):
        _one(out, chosen[0])
        return
    for key, of in groupby(chosen, key=lambda part: part.key):
        _kind(out, key, list(of))
    block(out, "", ["Generic values, no maker's part: give your own part's where you know them."])
    block(out, "next", ["all values of one part, each with its source:"])
    command(out, f"diodewright parts {which or chosen[0].name}" + (" --json" if which else ""))


def _chosen(which: str | None) -> Sequence[Part]:
    if which is None:
        return parts()
    if is_path(which):
        return sorted(read_parts(which), key=lambda part: list(_KINDS).index(part.key))
    found = [part for part in parts() if part.name == which]
    if found:
        return found
    near = nearest(which, [part.name for part in parts()], 0.5)
    mend = f"did you mean {near}?" if near else "`diodewright parts` lists them"
    mend += " (a file's name ends in .toml)"
    raise BuildErrors((Problem(which, None, "", "", "no such part", mend=mend),))


def _kind(out: Console, key: str, of: list[Part]) -> None:
    """Print one kind as a table with its sources below."""
    trade, columns = _KINDS[key]
    out.print(f"{trade}: {key}", style="bold")
    marks: dict[str, int] = {}
    rows = [_row(part, columns, marks) for part in of]
    heads = ["part", "from", *(head for head, _ in columns)]
    if out.width >= _WIDE:
        heads.append("what it is")
    table(out, heads, [row[: len(heads)] for row in rows])
    for source, mark in marks.items():
        block(out, f"[{mark}]", [source])
    out.print()


def _row(part: Part, columns: Sequence[tuple[str, str]], marks: dict[str, int]) -> list[str]:
    values = [part.value(key) for _, key in columns]
    sources = Counter(value.source for value in values if value and value.source != _PLAIN)
    usual = sources.most_common(1)[0][0] if sources else _PLAIN
    cells = [part.name, _mark(usual, marks)]
    for value in values:
        if value is None:
            cells.append("-")
        elif value.source in (usual, _PLAIN):
            cells.append(_figure(part, value))
        else:
            cells.append(f"{_figure(part, value)} {_mark(value.source, marks)}")
    return [*cells, part.meaning]


def _mark(source: str, marks: dict[str, int]) -> str:
    """Return the mark of a source, a new one where it has none."""
    return "" if source == _PLAIN else f"[{marks.setdefault(source, len(marks) + 1)}]"


def _figure(part: Part, value: Value) -> str:
    """Return a value as a table shows it: of points, what they give at the rated current."""
    if isinstance(value.value, (str, float, int)):
        return _shown(value)
    rated = part.value("rated_A")
    if rated is None or not isinstance(rated.value, (float, int)):
        return f"{len(value.value)} points"
    if value.key == "forward_points_A_V":
        return number(fit_forward(value.value).voltage_V(rated.value))
    kind = part.value("kind")
    laser = kind is not None and kind.value == "laser_diode"
    return number(fit_light(value.value, laser=laser).light_W(rated.value))


def _one(out: Console, part: Part) -> None:
    """Print all values of one part with their sources."""
    block(out, "part", [f"{part.name}: {part.meaning}"])
    block(out, "takes it", [part.key])
    rows = [(value.key, _shown(value), value.source) for value in part.values]
    table(out, ("key", "value", "source"), rows)
    section, _, name = part.key.partition(".")
    block(out, "next", ["in a build file:"])
    command(out, f"[{section}]")
    command(out, f'{name} = "{part.name}"')


def _shown(value: Value) -> str:
    if isinstance(value.value, str):
        return value.value
    if isinstance(value.value, (float, int)):
        return f"{value.value:g}"
    return ", ".join(f"[{x:g}, {y:g}]" for x, y in value.value)
