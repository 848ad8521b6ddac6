"""The verdict on each build at the end of a test run: a part that did not run is not passed."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from diodewright.report.wording import left

__all__ = ["verdict_lines"]

#: Where pytest sorts a report -> what that says of it here; what is not listed was not judged.
_SAID = {"passed": "holds", "failed": "fails"}


def verdict_lines(stats: Mapping[str, Sequence[Any]]) -> Iterator[str]:
    """Yield one line a build that items of ours were run for.

    Parameters
    ----------
    stats : category -> reports, as pytest's terminal keeps them. A case at a moment that the
        build's light never reaches is none: `rehearse` has it neither.
    """
    builds: dict[str, dict[str, str]] = {}
    asked: dict[str, int] = {}
    margins: dict[str, list[tuple[float, str]]] = {}
    for category, reports in stats.items():
        for report in reports:
            said = dict(getattr(report, "user_properties", ()))
            build = said.get("diodewright_build")
            if build is None:
                continue
            name = report.nodeid.rpartition("::")[2]
            asked[build] = said["diodewright_of"]
            absent = "diodewright_absent" in said
            builds.setdefault(build, {})[name] = (
                "absent" if absent else _SAID.get(category, "not judged")
            )
            if "diodewright_margin" in said:
                margins.setdefault(build, []).append((said["diodewright_margin"], name))
    for build in sorted(builds):
        yield _line(build, list(builds[build].values()), asked[build], margins.get(build, []))


def _line(build: str, found: list[str], of: int, margins: list[tuple[float, str]]) -> str:
    fails, absent = found.count("fails"), found.count("absent")
    of -= absent
    judged = len(found) - absent - found.count("not judged")
    verdict = "FAILS" if fails else "INCOMPLETE" if judged < of else "HOLDS"
    line = f"{build}: {verdict}: {judged} of {of} judged, {fails or 'none'} failed"
    if absent:
        line += f"; {absent} at moments that its light never reaches"
    if margins:
        margin, name = min(margins)
        line += f"; tightest: {name} ({left(margin)})"
    return line
