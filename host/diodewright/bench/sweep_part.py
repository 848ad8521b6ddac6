"""A catalogue entry of a diode that was swept: a ``[[part]]`` that a build file may name.

What was measured replaces the class's value; what was not stays the class's, and the entry's source
says so. It is read back by the reader of parts files before anybody sees it.
"""

import math
import tempfile
from pathlib import Path

import tomlkit

from diodewright.bench.problems import BenchError
from diodewright.bench.sweep import SIGNS, Stop, Trail
from diodewright.bench.sweep_fit import Fits
from diodewright.build import Build, BuildErrors, read_parts
from diodewright.plant.kernel import Record

__all__ = ["part_text"]

_POINTS = 4
#: Kept of the class: name of the key.
_CLASS = ("wavelength_nm", "forward_tempco_mV_K", "junction_max_degC", "case", "reverse_max_V")
_OF_A_LASER = ("threshold_T0_K",)
_OF_AN_LED = ("spectrum", "emitter_mm2")
_LEAST_SPREAD_V = 0.02


def part_text(
    name: str,
    build: Build,
    p: Record,
    fits: Fits,
    trail: Trail,
    stop: Stop | None,
    rated_A: float,
) -> str:
    """Return the text of a parts file with the one entry `name`.

    Parameters
    ----------
    p : the plant's parameters with the diode as it was measured.
    rated_A : the recommended current [A].

    Raises
    ------
    BenchError
        The entry would not be taken: a name of the catalogue, or figures that no diode has.
    """
    document = tomlkit.document()
    document.add(tomlkit.comment("Written by diodewright characterise. Look before you use it."))
    document["format"] = 1
    table = tomlkit.table()
    for key, value in _values(name, build, p, fits, trail, stop, rated_A).items():
        table[key] = value
    tables = tomlkit.aot()
    tables.append(table)
    document["part"] = tables
    text = tomlkit.dumps(document)
    with tempfile.TemporaryDirectory(prefix="part-") as folder:
        file = Path(folder) / "part.toml"
        file.write_text(text, "utf-8")
        try:
            read_parts(str(file))
        except BuildErrors as errors:
            first = errors.problems[0]
            raise BenchError(f"catalogue entry: {first.key} {first.value}: {first.wrong}") from None
    return text


def _values(
    name: str,
    build: Build,
    p: Record,
    fits: Fits,
    trail: Trail,
    stop: Stop | None,
    rated_A: float,
) -> dict[str, object]:
    diode = build.diode
    laser = diode.kind == "laser_diode"
    last_A = trail.points[-1].asked_A
    first_A = max(trail.lit[0].asked_A, last_A / 10)
    currents_A = [
        round(first_A + (last_A - first_A) * k / (_POINTS - 1), 3) for k in range(_POINTS)
    ]
    volts_V = [_volts_25_V(p, at_A) for at_A in currents_A]
    spread_V = max(_LEAST_SPREAD_V, build.sensors.voltage_tolerance_pct / 100 * volts_V[-1])
    kept = (*_CLASS, *(_OF_A_LASER if laser else _OF_AN_LED))
    width = {"narrow": "fwhm_nm", "white": "colour_temperature_K"}
    if not laser:
        kept = (*kept, width[str(diode.spectrum)])
    T1_K = diode.slope_T1_K if fits.slope_T1_K is None else round(fits.slope_T1_K.value)
    showed = stop is not None and stop.kind in SIGNS
    return {
        "name": name,
        "key": "diode.part",
        "meaning": f"one diode of the class in {build.name}, measured up to {last_A:.3f} A",
        "source": _source(fits, stop, kept),
        "kind": diode.kind,
        **{key: getattr(diode, key) for key in kept},
        "forward_points_A_V": [[a, round(v, 3)] for a, v in zip(currents_A, volts_V, strict=True)],
        "forward_spread_V": math.ceil(1000 * spread_V) / 1000,
        "light_points_A_W": [[a, round(_light_25_W(p, a), 4)] for a in currents_A],
        "slope_T1_K": T1_K,
        "rated_A": rated_A,
        "absolute_A": round(min(diode.absolute_A, last_A), 3) if showed else diode.absolute_A,
    }


def _source(fits: Fits, stop: Stop | None, kept: tuple[str, ...]) -> str:
    ended = "the end of its table" if stop is None else stop.kind
    T1 = "" if fits.slope_T1_K is not None else ", slope_T1_K"
    return (
        f"swept until {ended}; light known to {100 * fits.systematic:.0f} %; of its class: "
        f"{', '.join(kept)}{T1}"
    )[:200]


def _volts_25_V(p: Record, at_A: float) -> float:
    return float(p.diode_knee_V + p.diode_rs_ohm * at_A) + float(p.diode_b_V) * math.log(
        1 + at_A / p.diode_floor_A
    )


def _light_25_W(p: Record, at_A: float) -> float:
    return float(p.slope_W_A * max(0.0, at_A - p.threshold_A))
