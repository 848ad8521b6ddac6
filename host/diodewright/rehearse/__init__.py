"""Rehearse: size, use, faults, judged into one Rehearsal with one verdict."""

from diodewright.rehearse.cases import (
    MOMENTS,
    CaseRun,
    UnknownCase,
    parse_case,
    run_case,
    snapshots,
)
from diodewright.rehearse.document import FORMAT, VERDICTS, Rehearsal
from diodewright.rehearse.hazard_statement import Statement, state_hazard
from diodewright.rehearse.rehearsal import rehearse
from diodewright.rehearse.scenario_file import Scenario, read_scenario
from diodewright.rehearse.use import Use, run_use

__all__ = [
    "FORMAT",
    "MOMENTS",
    "VERDICTS",
    "CaseRun",
    "Rehearsal",
    "Scenario",
    "Statement",
    "UnknownCase",
    "Use",
    "parse_case",
    "read_scenario",
    "rehearse",
    "run_case",
    "run_use",
    "snapshots",
    "state_hazard",
]
