"""Rehearse: size, use, faults, judged into one Rehearsal with one verdict."""

from diodewright.faults import MOMENTS
from diodewright.rehearse.case_id import At, UnknownCase, parse_case
from diodewright.rehearse.cases import CaseRun, run_case
from diodewright.rehearse.document import FORMAT, VERDICTS, Rehearsal
from diodewright.rehearse.hazard_statement import Statement, state_hazard
from diodewright.rehearse.moments import NoHealthyStart, Stand, snapshots
from diodewright.rehearse.rehearsal import rehearse
from diodewright.rehearse.scenario_file import Scenario, read_scenario
from diodewright.rehearse.use import Use, run_use

__all__ = [
    "FORMAT",
    "MOMENTS",
    "VERDICTS",
    "At",
    "CaseRun",
    "NoHealthyStart",
    "Rehearsal",
    "Scenario",
    "Stand",
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
