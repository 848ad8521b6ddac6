"""What a flash rests on: a rehearsal of this build under this law that holds, or named findings.

A finding that fails is named by its id; what was not judged is one as well. Nothing excuses what
the hazard asks for.
"""

import re
from collections.abc import Iterable
from difflib import get_close_matches

from diodewright.bench.problems import BenchError, NotGrounded
from diodewright.build import Build
from diodewright.derive import worst_light
from diodewright.rehearse import Rehearsal
from diodewright.rehearse.hazards import hazard_of
from diodewright.sim import law_hash

__all__ = ["excused", "finding_ids"]

_LONGEST_ID = 48
_CASE = re.compile(r"([\w,-]+@[\w+~-]+): ")
_PROOF = re.compile(r"proof: ([\w-]+): ")


def finding_ids(done: Rehearsal) -> dict[str, str]:
    """Return id -> reason of all that fails or was not judged in `done`, in its own order."""
    known = {
        f"{of}: {row['meaning']}": f"{of}:{row['id']}"
        for of, rows in (("use", done.findings), ("edge", done.edges))
        for row in rows
    }
    found: dict[str, str] = {}
    for reason in done.reasons:
        name = _id_of(reason, known)
        found[name] = f"{found[name]}; {reason}" if name in found else reason
    return found


def _id_of(reason: str, known: dict[str, str]) -> str:
    for begin, name in known.items():
        if reason.startswith(begin):
            return name
    if case := _CASE.match(reason):
        return case[1]
    if proof := _PROOF.match(reason):
        return f"proof:{proof[1]}"
    words = re.split(r": worst |; mend: ", reason)[0]
    return re.sub(r"[^a-z0-9]+", "-", words.lower()).strip("-")[:_LONGEST_ID].strip("-")


def excused(build: Build, done: Rehearsal, despite: Iterable[str], file: str) -> tuple[str, ...]:
    """Return the ids of what fails in `done` and is named by `despite`; () where it holds.

    Raises
    ------
    NotGrounded
        Of another build or law, it does not hold and not all of why is named, or the hazard
        refuses.
    BenchError
        `despite` names what does not fail.
    """
    if done.build["fingerprint"] != build.fingerprint:
        raise NotGrounded(
            f"{file}: of another build ({done.build['name']}, {done.build['fingerprint'][:12]}); "
            f"this is {build.name} ({build.fingerprint[:12]}): rehearse it"
        )
    if done.law_hash != law_hash():
        raise NotGrounded(f"{file}: rehearsed with another law than this one: rehearse again")
    _refuse_hazard(build, done)
    found = finding_ids(done)
    named = tuple(dict.fromkeys(despite))
    for name in named:
        if name not in found:
            near = get_close_matches(name, found, 1)
            mend = f"; did you mean {near[0]}?" if near else ""
            raise BenchError(f"--despite {name}: {file} has no such finding that fails{mend}")
    open_ = [name for name in found if name not in named]
    if open_ or (done.verdict != "HOLDS" and not found):
        listed = "\n".join(f"  {name}: {found[name]}" for name in open_)
        raise NotGrounded(
            f"{file}: {done.verdict}; nothing is flashed. What stands open, by name:\n{listed}"
        )
    return named


def _refuse_hazard(build: Build, done: Rehearsal) -> None:
    """Refuse what the hazard refuses, whatever --despite says: of this build, and as rehearsed."""
    own = hazard_of(build, worst_light(build), []).get("breaches", [])
    said = [*own, *done.hazard.get("breaches", []), *done.hazard.get("not_judged", [])]
    if said:
        listed = "; ".join(dict.fromkeys(str(row) for row in said))
        raise NotGrounded(f"the hazard refuses, and no --despite changes that: {listed}")
