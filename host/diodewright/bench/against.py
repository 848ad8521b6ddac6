"""A recording against the model: the recorded outputs of the law drive the plant of the build.

What both read is compared quantity by quantity: bias, RMS, the worst and when, against a stated
band. The model begins where the recording begins (temperatures, charge); what its air is, is taken
from a rest at the start where there is one.

Bands. Current and output voltage: what tolerances of the build allow a reading to differ (worst
case), the diode's forward spread with it. Temperatures and pack: `SHARE` of what the model itself
moves, and what a reading's noise does to it. The share is common practice, no source.

Limits. From slow telemetry (anything but a burst) trends only: what happens between two rows is
not seen, rows across an edge of the drive are left out. Typical parts; the plant's limits are told
in its modules.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from diodewright.bench.against_causes import Blamed
from diodewright.bench.against_law import LawJudged, judged_law
from diodewright.bench.against_run import Run
from diodewright.bench.burst import is_burst
from diodewright.bench.fitting import Suggested
from diodewright.bench.span import Record, Values, cut, missing, refuse_another_law
from diodewright.bench.unread import thermistor, unscaled
from diodewright.derive.electrics import highest_level_A
from diodewright.derive.spread import Spread, worst
from diodewright.sim import compiled

__all__ = ["QUANTITIES", "SHARE", "Against", "Compared", "against"]

SHARE = 0.05
#: Quantity -> (column, unit, what people call it).
QUANTITIES: Mapping[str, tuple[str, str, str]] = {
    "current": ("current_read_A", "A", "diode current"),
    "output": ("output_read_V", "V", "output voltage"),
    "pack": ("pack_read_V", "V", "pack voltage"),
    "mount": ("mount_read_degC", "°C", "mount"),
    "sink": ("sink_read_degC", "°C", "sink"),
}
_INPUTS = ("duty", "enable", "drive_A")
#: What a mean of noisy readings may be off whatever the model says.
_LEAST = {"mount": 0.3, "sink": 0.3, "pack": 0.02}


@dataclass(frozen=True)
class Compared:
    """One quantity: model against bench.

    Attributes
    ----------
    bench, model : rows; empty where the column is absent.
    bias, rms : of bench less model, over the rows that count.
    worst, worst_at_s : the largest of its means over a second, and when.
    band : what is allowed.
    verdict : "agrees", "differs" or "not judged".
    told : in words, how they differ; "" where they agree.
    """

    name: str
    unit: str
    bench: Values
    model: Values
    bias: float = 0.0
    rms: float = 0.0
    worst: float = 0.0
    worst_at_s: float = 0.0
    band: float = 0.0
    verdict: str = "not judged"
    told: str = ""


@dataclass(frozen=True)
class Against:
    """The comparison of one recording.

    Attributes
    ----------
    burst : every tick is there; else trends only.
    law : what came of running the law again; None where the recording is no burst.
    air_degC, air_from : the air that the model was given, and where that is from.
    causes : groups of causes, one a difference.
    suggested : keys that a cause names, with what they should say.
    """

    record: Record
    burst: bool
    law: LawJudged | None
    time_s: Values
    drive_A: Values
    compared: tuple[Compared, ...]
    air_degC: float
    air_from: str
    causes: tuple[tuple[Blamed, ...], ...]
    suggested: tuple[Suggested, ...]

    @property
    def verdict(self) -> str:
        """AGREES, DIFFERS, or INCOMPLETE where a column was absent."""
        verdicts = {each.verdict for each in self.compared}
        if "differs" in verdicts or (self.law is not None and self.law.first is not None):
            return "DIFFERS"
        return "INCOMPLETE" if "not judged" in verdicts else "AGREES"


def against(
    record: Record,
    share: float = SHARE,
    air_degC: float | None = None,
    from_s: float | None = None,
    to_s: float | None = None,
) -> Against:
    """Compare a recording with the law and the plant of its build.

    Parameters
    ----------
    share : band of temperatures and pack, of what the model itself moves.
    air_degC : the air while it was recorded [degC]; None: from the recording, or the build's.
    from_s, to_s : a part of it only [s].

    Raises
    ------
    BenchError
        Another law's recording, a gap, or no whole burst.
    Missing
        lmfit is not installed and something differs.
    EngineError
        The compiled engine can't be made here.
    """
    refuse_another_law(record)
    burst = is_burst(record.trace)
    law = judged_law(record, compiled()) if burst else None
    absent = missing(record.trace, _INPUTS)
    there = [name for name, row in QUANTITIES.items() if not missing(record.trace, (row[0],))]
    if absent or not there:
        return _nothing_judged(record, burst, law)
    seen = cut(record, (*_INPUTS, *(QUANTITIES[name][0] for name in there)), from_s, to_s)
    bench = _bench(record, seen, there)
    run = Run(record, seen, bench, burst, air_degC)
    model = run.model({})
    compared = tuple(
        _compared(record, run, name, bench.get(name), model, share) for name in QUANTITIES
    )
    bands = {each.name: each.band for each in compared if each.verdict != "not judged"}
    wrong = [each.name for each in compared if each.verdict == "differs"]
    causes = run.causes(wrong, bands) if wrong else ()
    return Against(
        record,
        burst,
        law,
        seen["time_s"],
        seen["drive_A"],
        compared,
        run.air_degC,
        run.air_from,
        causes,
        tuple(
            run.suggested(moved) for group in causes for moved in group[0].moved if moved.cause.key
        ),
    )


def _nothing_judged(record: Record, burst: bool, law: LawJudged | None) -> Against:
    none = np.zeros(0)
    compared = tuple(Compared(name, row[1], none, none) for name, row in QUANTITIES.items())
    return Against(record, burst, law, none, none, compared, 0.0, "", (), ())


def _bench(record: Record, seen: Mapping[str, Values], there: list[str]) -> dict[str, Values]:
    """Return what was there, the reading chain undone."""
    degC = thermistor(record.then)
    return {
        name: (degC if QUANTITIES[name][1] == "°C" else unscaled)(seen[QUANTITIES[name][0]])
        for name in there
    }


def _compared(
    record: Record,
    run: Run,
    name: str,
    bench: Values | None,
    model: Mapping[str, Values],
    share: float,
) -> Compared:
    unit = QUANTITIES[name][1]
    if bench is None:
        return Compared(name, unit, np.zeros(0), model[name])
    counted = run.counted(name)
    if not counted.any():
        return Compared(name, unit, bench, model[name])
    away = bench - model[name]
    steady = np.where(counted, run.means(np.where(counted, away, 0.0)), 0.0)
    share_counted = run.means(counted.astype(np.float64))
    steady = np.where(share_counted > 0.5, steady / np.maximum(share_counted, 0.5), 0.0)
    at = int(np.argmax(np.abs(steady)))
    band = _band(record, name, model[name][counted], share)
    differs = abs(float(steady[at])) > band
    return Compared(
        name,
        unit,
        bench,
        model[name],
        bias=float(away[counted].mean()),
        rms=float(np.sqrt(np.mean(away[counted] ** 2))),
        worst=float(steady[at]),
        worst_at_s=float(run.time_s[at]),
        band=band,
        verdict="differs" if differs else "agrees",
        told=_told(name, bench[counted], model[name][counted]) if differs else "",
    )


def _band(record: Record, name: str, model: Values, share: float) -> float:
    """Return what the two may differ by, in the quantity's unit."""
    build, spread = record.build, Spread(record.build)
    if name == "current":
        level_A = min(float(model.max()), highest_level_A(build))
        return worst(spread.read(level_A)) + worst(spread.made(level_A))
    if name == "output":
        return worst(spread.output(float(model.max()))) + build.diode.forward_spread_V
    return share * float(model.max() - model.min()) + _LEAST[name]


def _told(name: str, bench: Values, model: Values) -> str:
    """Return in words how a quantity differs, from the two curves."""
    text = QUANTITIES[name][2]
    if name in ("mount", "sink"):
        rise = _ratio(bench - bench[0], model - model[0])
        if abs(rise) < 0.02:
            return f"{text} runs {float((bench - model).mean()):+.1f} K from the model throughout"
        return (
            f"{text} heats {100 * abs(rise):.0f} % {'more' if rise > 0 else 'less'} than the model"
        )
    if name == "pack":
        more = _ratio(bench[0] - bench, model[0] - model)
        return (
            f"{text} sags {100 * abs(more):.0f} % {'more' if more > 0 else 'less'} than the model"
        )
    more = _ratio(bench, model)
    return f"{text} is {100 * abs(more):.1f} % {'above' if more > 0 else 'below'} the model"


def _ratio(bench: Values, model: Values) -> float:
    """Return by what share the bench's curve is larger than the model's, in the least squares."""
    power = float(model @ model)
    return float(bench @ model) / power - 1.0 if power > 0 else 0.0
