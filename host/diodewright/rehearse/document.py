"""The Rehearsal: one document that `--json` prints and the report is made from."""

import dataclasses
import json
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from diodewright.sim import Trace

__all__ = ["FORMAT", "KEPT", "VERDICTS", "Rehearsal", "thinned"]

FORMAT = 1
#: Verdict -> exit code.
VERDICTS = {"HOLDS": 0, "FAILS": 1, "INCOMPLETE": 3}

#: Columns of a Trace that the document keeps for its figures.
KEPT = (
    "time_s",
    "diode_A",
    "current_read_A",
    "drive_A",
    "allowed_A",
    "light_W",
    "junction_degC",
    "junction_law_degC",
    "mount_degC",
    "mount_read_degC",
    "sink_degC",
    "sink_read_degC",
    "pack_V",
    "pack_read_V",
    "rest_law_V",
    "mode",
    "bound",
)


@dataclass(frozen=True)
class Rehearsal:
    """Everything that one rehearsal found. Units are in the keys; see `as_dict`.

    Attributes
    ----------
    verdict : "HOLDS", "FAILS" or "INCOMPLETE".
    reasons : what made it so, worst first, each with its mend; empty where it holds.
    build : name, purpose, fingerprint.
    seed : of the sensors' noise.
    law_hash : of the law that ran; `engine` : how it ran.
    size, hazard, proof, use, findings, faults : the parts, as plain values.
    tightest : the case or finding of least margin and the command that shows it.
    assumed : values that the builder did not give, each with whether it matters, and why.
    cautions, leaves_out : what must be read with the verdict.
    scenario : the builder's own, its steps as rows, where it took the place of the one use.
    traces : thinned columns for figures.
    edges : findings on what happens within microseconds, as plain values.
    pairs : fault cases where a guard was dead before, unseen; rows as those of `faults`.
    bereft : what a fault that hardware ended does without that part; `without` names it.
    catalogue : what is known of each fault that was run, whatever the moment.
    moments : name -> meaning, and whether this build's light reaches it.
    without : parts that the circuit lacked on purpose.
    unsaved : faults of this build that no part of the circuit saves it from.
    closest : the smallest margins among the fault cases, with their columns over time.
    given : the values that the build file gave, as rows.
    derate : what each of the law's caps allows, at the corners of its line.
    card : what a person who gets the light must know, beside what stands elsewhere.
    curves : what the size's figures are drawn from, as columns: "over_current", "discharge".
    versions : of this package and of what computed the figures.
    margins : what the parts' tolerances leave of every limit, as plain values; see `margins`.
    """

    verdict: str
    reasons: list[str]
    build: dict[str, Any]
    seed: int
    law_hash: str
    engine: str
    size: list[dict[str, Any]]
    hazard: dict[str, Any]
    proof: dict[str, Any]
    use: dict[str, Any]
    findings: list[dict[str, Any]]
    faults: list[dict[str, Any]]
    tightest: dict[str, Any]
    assumed: list[dict[str, Any]]
    cautions: list[str]
    leaves_out: list[str]
    traces: dict[str, dict[str, Any]]
    scenario: dict[str, Any] = field(default_factory=dict)
    edges: list[dict[str, Any]] = field(default_factory=list)
    pairs: list[dict[str, Any]] = field(default_factory=list)
    bereft: list[dict[str, Any]] = field(default_factory=list)
    catalogue: list[dict[str, Any]] = field(default_factory=list)
    moments: dict[str, dict[str, Any]] = field(default_factory=dict)
    without: list[str] = field(default_factory=list)
    closest: list[dict[str, Any]] = field(default_factory=list)
    unsaved: list[dict[str, Any]] = field(default_factory=list)
    given: list[dict[str, Any]] = field(default_factory=list)
    derate: dict[str, Any] = field(default_factory=dict)
    card: dict[str, Any] = field(default_factory=dict)
    versions: dict[str, str] = field(default_factory=dict)
    margins: dict[str, Any] = field(default_factory=dict)
    curves: dict[str, dict[str, list[float]]] = field(default_factory=dict)

    def as_dict(self) -> dict[str, Any]:
        """Return the document as plain values, `format` first."""
        return {"format": FORMAT, **dataclasses.asdict(self)}

    @classmethod
    def from_dict(cls, values: dict[str, Any]) -> "Rehearsal":
        """Return the document that `as_dict` made; ValueError where it is not one.

        What documents have had from the first must be there; what came later has a default.
        """
        rest = dict(values)
        if rest.pop("format", None) != FORMAT:
            raise ValueError(f"format {values.get('format')!r}, expected {FORMAT}")
        rows = dataclasses.fields(cls)
        first = {row.name for row in rows if row.default_factory is dataclasses.MISSING}
        odd = sorted((first - set(rest)) | (set(rest) - {row.name for row in rows}))
        if odd:
            raise ValueError(f"missing or unknown: {', '.join(odd)}")
        return cls(**rest)

    def as_json(self) -> str:
        """Return the document as JSON text; the same document gives the same text."""
        return json.dumps(self.as_dict(), indent=1, allow_nan=False, ensure_ascii=False) + "\n"


def thinned(
    trace: Trace, begin_s: float, end_s: float, rows: int, zero_s: float
) -> dict[str, list[float]]:
    """Return `KEPT` columns between two times [s] in about `rows` rows, five digits each.

    Time is counted from `zero_s`. Rows are picked evenly in time, never averaged: a picked value
    was there.
    """
    time = trace["time_s"]
    wanted = np.linspace(begin_s, end_s, rows)
    picks = np.unique(np.clip(np.searchsorted(time, wanted), 0, len(time) - 1))
    columns = {name: trace[name][picks] for name in KEPT}
    columns["time_s"] = columns["time_s"] - zero_s
    return {name: [float(f"{v:.5g}") for v in values] for name, values in columns.items()}
