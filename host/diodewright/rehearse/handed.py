"""What the report hands over besides verdicts: the build's own values, caps as lines, the card.

Plain values with units in their keys, small, so that figures and card are made from the document
alone, years later.
"""

import dataclasses
import math
import platform
from collections.abc import Iterator, Sequence
from importlib import metadata
from typing import Any

from diodedriver import law, words
from diodewright.build import CHEMISTRIES, KEYS, Build
from diodewright.build.model import applies, value_of
from diodewright.derive import settings
from diodewright.derive.electrics import highest_level_A
from diodewright.derive.plant import pack_full_V
from diodewright.size.descent import descend
from diodewright.size.tables import over_current

__all__ = ["card_of", "curves_of", "derate_of", "given_rows", "versions"]

#: They stand in the document's head, or say nothing about the light.
_HEAD = {"format", "name", "purpose", "parts_file"}
_ZERO_DEGC_CK = 27315
_READING = {row[0]: place for place, row in enumerate(words.READINGS)}
#: Chemistry -> how its cells are charged. Common practice, no source.
_CHARGING = {
    "lithium_ion": "outside of the light, watched, in a charger made for lithium-ion cells, to "
    "{full_V:g} V a cell and no further; never a cell that was crushed, wet or run flat",
    "nimh": "outside of the light, in a charger made for nickel-metal hydride cells, all together",
    "alkaline": "never: they leak and burst",
}
#: What the figures of a rehearsal come out of.
_COMPUTED_BY = ("diodewright", "numba", "numpy", "z3-solver")
#: After three time constants all but 5 % of the warmth is gone: e**-3.
_COOLED = 3


def curves_of(build: Build) -> dict[str, dict[str, list[float]]]:
    """Return the size's tables as columns: light over current, and the pack's way down.

    "discharge" is absent on a bench supply.
    """
    down = descend(build)
    tables = {"over_current": over_current(build), "discharge": down.rows if down else ()}
    return {name: _columns(rows) for name, rows in tables.items() if rows}


def _columns(rows: Sequence[Any]) -> dict[str, list[float]]:
    names = [field.name for field in dataclasses.fields(rows[0])]
    return {name: [float(f"{getattr(row, name):.5g}") for row in rows] for name in names}


def given_rows(build: Build) -> list[dict[str, Any]]:
    """Return key, value and unit of each value that the build file gave.

    A value that was assumed stands among the assumed ones, one that does not apply nowhere.
    """
    assumed = {row.key for row in build.assumed}
    return [
        {"key": path, "value": value, "unit": key.unit}
        for key in KEYS
        if key.path not in assumed | _HEAD and applies(build, key)
        for path, value in _given(build, key.path)
    ]


def _given(build: Build, path: str) -> Iterator[tuple[str, Any]]:
    if path == "levels.others":
        yield from ((f"levels.{name}", level_A) for name, level_A in build.levels.others)
        return
    value = value_of(build, path)
    left_out = value is None or value == () or (isinstance(value, float) and math.isnan(value))
    if not left_out:
        yield path, [list(row) for row in value] if isinstance(value, tuple) else value


def _allowed_A(limits: list[int], at: Sequence[int], reading: str) -> list[float]:
    """Return what the law itself allows [A] at values of one reading, the others harmless."""
    allowed = []
    for value in at:
        readings = [0] * len(words.READINGS)
        readings[_READING["rest_mV"]] = 60_000
        readings[_READING[reading]] = value
        allowed.append(law.allow(words.first_state(), limits, readings) / 1000)
    return allowed


def derate_of(build: Build) -> dict[str, Any]:
    """Return how much current each cap allows [A], at the corners of its line.

    The law's own function is asked, with the build's settings words; between corners a cap is
    straight. Beyond `dark_degC`, or below `dark_V`, the law latches dark. Heat budget and headroom
    have no line here: they depend on what went before.
    """
    own = settings(build)
    limits = words.assemble(own)
    cool_cK = round(100 * build.heat.ambient_min_degC) + _ZERO_DEGC_CK

    def heat(reading: str, word: str) -> dict[str, Any]:
        names = (f"{word}warm_cK", f"{word}hot_cK", f"{word}trip_cK")
        at = [min(cool_cK, own[names[0]]), *(own[name] for name in names)]
        return {
            "at_degC": [(each - _ZERO_DEGC_CK) / 100 for each in at],
            "allowed_A": _allowed_A(limits, at, reading),
            "dark_degC": (at[-1] - _ZERO_DEGC_CK) / 100,
        }

    full_mV = max(round(1000 * pack_full_V(build)), own["cutback_mV"])
    at_mV = [own["lockout_mV"], own["cutback_end_mV"], own["cutback_mV"], full_mV]
    return {
        "level_A": highest_level_A(build),
        "gate_A": own["gate_mA"] / 1000,
        "mount": heat("lead_cK", ""),
        "junction": heat("junction_cK", "junction_"),
        "pack": {
            "at_V": [each / 1000 for each in at_mV],
            "allowed_A": _allowed_A(limits, at_mV, "rest_mV"),
            "dark_V": own["lockout_mV"] / 1000,
        },
    }


def card_of(build: Build) -> dict[str, Any]:
    """Return what a person who gets the light must know, beside what is found elsewhere.

    `cool_s` is three time constants of sink and mount on the sink's way to the air, as one lump:
    the gradient between them, wind and sun are left out.
    """
    own, heat, pack = settings(build), build.heat, build.pack
    chemistry = CHEMISTRIES.get(pack.chemistry or "")
    cells = None
    if pack.kind == "cells" and chemistry:
        cells = {
            "chemistry": chemistry.text,
            "part": pack.part or "",
            "series": pack.series,
            "parallel": pack.parallel,
            "capacity_Ah": pack.capacity_Ah,
            "full_V": pack.cell_full_V,
            "empty_V": pack.cell_min_V,
            "rated_A": pack.discharge_continuous_A,
            "charging": _CHARGING[pack.chemistry or ""].format(full_V=pack.cell_full_V),
        }
    dummy = build.diode.kind == "dummy_string"
    return {
        "wavelength_nm": None if dummy else build.diode.wavelength_nm,
        "white": build.diode.spectrum == "white",
        "longest_on_s": own["auto_off_ticks"] / 1000,
        "delay_s": own["delay_ticks"] / 1000,
        "trigger": build.controls.trigger,
        "key": build.controls.key,
        "interlock": build.controls.interlock,
        "access": build.enclosure.access,
        "cool_s": _COOLED * heat.sink_air_K_W * (heat.sink_J_K + heat.mount_J_K),
        "ambient_min_degC": heat.ambient_min_degC,
        "ambient_max_degC": heat.ambient_max_degC,
        "pack_rest_s": own["rest_ticks"] / 1000,
        "rearm_V": own["rearm_mV"] / 1000,
        "cells": cells,
        "supply_V": pack.supply_V if pack.kind == "bench_supply" else None,
    }


def versions() -> dict[str, str]:
    """Return name -> version of this package, of Python and of the libraries that compute."""
    found = {name: metadata.version(name) for name in _COMPUTED_BY}
    return {"python": platform.python_version(), **found}
