"""The edges of a build, judged: what happens within microseconds, too fast for the engine's steps.

They are closed forms and short exact runs of their own (`diodewright.edges`), asked at the worse
end of all that the build says; the engine's cases run typical parts. Both must hold.
"""

from diodewright.build import Build
from diodewright.derive import criteria
from diodewright.derive.edges import edge_values
from diodewright.judge import Finding, judge

__all__ = ["edge_findings"]


def edge_findings(build: Build) -> tuple[Finding, ...]:
    """Return the finding on every edge of `build`."""
    return judge(criteria(build), edge_values(build), "edge")
