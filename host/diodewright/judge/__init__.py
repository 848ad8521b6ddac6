"""Judge: tallied quantities and criteria to findings. Pure: no run, no file, no clock."""

from diodewright.judge.cases import CASE_VERDICTS, CaseFinding, judge_case
from diodewright.judge.findings import Finding, judge

__all__ = ["CASE_VERDICTS", "CaseFinding", "Finding", "judge", "judge_case"]
