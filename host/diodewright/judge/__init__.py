"""Judge: tallied quantities and criteria to findings. Pure: no run, no file, no clock."""

from diodewright.judge.cases import CaseFinding, judge_case
from diodewright.judge.findings import Finding, judge

__all__ = ["CaseFinding", "Finding", "judge", "judge_case"]
