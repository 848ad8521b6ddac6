"""What a sweep came to: judged, fitted, with the current that is recommended; and as a document."""

from dataclasses import asdict, dataclass
from typing import Any

from diodewright.bench.problems import BenchError
from diodewright.bench.sweep import SIGNS, STOPS, Plan, Stop, Trail
from diodewright.bench.sweep_fit import Fits, fitted, measured_parameters, recommended
from diodewright.bench.sweep_part import part_text
from diodewright.build import Build

__all__ = ["BLIND", "Result", "document", "result_of"]

#: What no sweep sees, said wherever its result is.
BLIND = (
    "it can't see a diode that dies without a sign, at once: such ones are as likely to be damaged "
    "by this sweep as by any other way up to the same current; nor does it say how long one lives"
)
#: Kinds of stop that answer the question.
_ANSWERS = ("bound", "roll-over", "kink")
_FAILS = ("weak", "no light")


@dataclass(frozen=True)
class Result:
    """One diode, swept.

    Attributes
    ----------
    stop : why it ended; None for a table that ends before the sweep would have.
    fits : None where there was too little light to fit; `unfitted` says why.
    rules : current that each rule allows [A], and the rule; the first is recommended.
    part : text of a parts file with its entry; None without fits.
    """

    build: Build
    plan: Plan
    trail: Trail
    stop: Stop | None
    fits: Fits | None
    unfitted: str
    rules: list[tuple[float, str]]
    part: str | None

    @property
    def verdict(self) -> str:
        """HOLDS where it answers, FAILS for a diode that is none of its class, else INCOMPLETE."""
        if self.stop is not None and self.stop.kind in _FAILS:
            return "FAILS"
        answers = self.stop is not None and self.stop.kind in _ANSWERS
        return "HOLDS" if answers and self.fits is not None else "INCOMPLETE"

    @property
    def recommended_A(self) -> float | None:
        """The current that is recommended [A]; None where the sweep does not answer."""
        return self.rules[0][0] if self.rules and self.verdict == "HOLDS" else None


def result_of(
    build: Build, plan: Plan, trail: Trail, stop: Stop | None, meter_pct: float, name: str
) -> Result:
    """Return what was found; `name` is that of the catalogue entry."""
    try:
        fits = fitted(trail, build, plan, meter_pct)
    except BenchError as error:
        return Result(build, plan, trail, stop, None, str(error), [], None)
    rules = recommended(fits, build, trail, stop)
    part = None
    if stop is not None and stop.kind in (*_ANSWERS, *SIGNS):
        p = measured_parameters(fits, build)
        part = part_text(name, build, p, fits, trail, stop, rules[0][0])
    return Result(build, plan, trail, stop, fits, "", rules, part)


def document(found: Result) -> dict[str, Any]:
    """Return the result for machines; units in the keys."""
    stop, fits = found.stop, found.fits
    return {
        "what": "characterise",
        "build": found.build.name,
        "fingerprint": found.build.fingerprint,
        "verdict": found.verdict,
        "stop": None if stop is None else {**asdict(stop), "meaning": STOPS[stop.kind]},
        "recommended_A": found.recommended_A,
        "rules": [{"most_A": most_A, "why": why} for most_A, why in found.rules],
        "fits": None if fits is None else asdict(fits),
        "unfitted": found.unfitted,
        "plan": asdict(found.plan),
        "points": [asdict(point) for point in found.trail.points],
        "blind": BLIND,
    }
