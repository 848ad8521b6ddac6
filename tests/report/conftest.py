"""Documents for the tests of the report.

``smoke_tunnel.json`` was printed by ``diodewright rehearse smoke_tunnel --json`` (seed 1) and
then trimmed: twelve of the faults, five of the assumed values, every ninth row of the traces.
Nothing in it was changed but ``leaves_out``, which is today's. `failing` and `partial` are edits
of it, made here in the open; `complete` adds what today's documents hold besides.
"""

import copy
import json
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from diodewright.rehearse import Rehearsal
from diodewright.report.page import render
from diodewright.report.shape import document_of
from report_builds import handed

TRIMMED = Path(__file__).parent / "smoke_tunnel.json"

Values = dict[str, Any]


@pytest.fixture
def values() -> Values:
    """Return the trimmed document as plain values, free to be edited."""
    values: Values = json.loads(TRIMMED.read_text(encoding="utf-8"))
    return values


@pytest.fixture
def holding(values: Values) -> Rehearsal:
    """Return a document that HOLDS."""
    return Rehearsal.from_dict(values)


@pytest.fixture
def complete(values: Values) -> Rehearsal:
    """Return the document with what is handed over besides verdicts, of the build as it is."""
    return Rehearsal.from_dict(values | handed("smoke_tunnel"))


@pytest.fixture
def failing(values: Values) -> Rehearsal:
    """Return a document in which one fault kills the diode and one criterion just fails."""
    values = copy.deepcopy(values)
    case = next(c for c in values["faults"] if c["id"] == "stage-full-on" and c["at"] == "steady")
    why = "true peak diode current stays below the absolute maximum: got 3.1 A, limit 2 A"
    case |= {"survives": False, "peak_current_A": 3.1, "why": why}
    case["tightest"] |= {"id": "diode-current", "value": 3.1, "limit": 2.0, "margin": -0.55}
    light = next(f for f in values["findings"] if f["id"] == "light")
    light |= {"status": "fails", "value": 0.74999, "margin": -1e-5 / 0.75, "mend": "more light"}
    values |= {
        "verdict": "FAILS",
        "reasons": [f"stage-full-on@steady: {why}", "use: light: 0.75 W; mend: more light"],
        "seed": 7,
    }
    return Rehearsal.from_dict(values)


@pytest.fixture
def weighed(values: Values) -> Rehearsal:
    """Return a document that says of its five assumed values which matter."""
    why = {"criterion": "light", "at": "4.1", "from": "holds", "to": "fails", "said": "less light"}
    nothing = {"criterion": "", "at": "", "from": "", "to": "", "said": "nothing follows from it"}
    for row, matters in zip(values["assumed"], (True, False, None, False, None), strict=True):
        row |= {"matters": matters, "why": why if matters else nothing}
    return Rehearsal.from_dict(values)


@pytest.fixture
def described(values: Values) -> Rehearsal:
    """Return a document of a builder's scenario."""
    steps = ((0, "trigger pressed"), (90.5, "fault air-blocked"), (700, "end"))
    values |= {"faults": [], "verdict": "INCOMPLETE", "reasons": ["by the scenario two bursts"]}
    values["use"] |= {"use_s": 700, "light_first_minute_W": None, "before_cutback_s": None}
    values["scenario"] = {
        "name": "two bursts",
        "start_charge_pct": 80,
        "ambient_degC": 6,
        "rest_s": 1800,
        "latched": "heat",
        "steps": [{"at_s": at_s, "said": said} for at_s, said in steps],
    }
    return Rehearsal.from_dict(values)


@pytest.fixture
def partial(values: Values) -> Callable[[str], Rehearsal]:
    """Return a function that gives a document of which only one part was rehearsed."""

    def make(only: str) -> Rehearsal:
        kept = copy.deepcopy(values)
        kept |= {"verdict": "INCOMPLETE", "reasons": [f"only {only} was rehearsed"]}
        if only == "use":
            kept["faults"] = []
        else:
            kept |= {"use": {}, "findings": [], "traces": {}, "tightest": {}}
        return Rehearsal.from_dict(kept)

    return make


@cache
def _rendered(text: str) -> str:
    return render(document_of(Rehearsal.from_dict(json.loads(text))))


@pytest.fixture
def page_of() -> Callable[[Rehearsal], str]:
    """Return a function that gives a document's page, drawn once a test process."""
    return lambda done: _rendered(done.as_json())
