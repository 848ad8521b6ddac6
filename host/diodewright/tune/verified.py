"""A choice before the judges: rehearsed whole and proved; what fails becomes a cut.

The search sees a choice of runs; `rehearse` sees all of them, and `prove` asks for every state.
Where a limit is missed there, the search must keep so much more room of the same limit and goes on.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from diodewright.build import Build
from diodewright.derive import settings
from diodewright.prove import Unprovable, prove_source
from diodewright.prove.build_claims import figures
from diodewright.rehearse import Rehearsal, rehearse
from diodewright.sim import Engine
from diodewright.sim.engine import law_text
from diodewright.tune.choice import Look, Row

__all__ = ["Verified", "cuts_of", "verify"]

#: Room is cut by what was short and this share of it more.
_MORE = 1.25


@dataclass(frozen=True)
class Verified:
    """What the judges said of a build.

    Attributes
    ----------
    verdict : of `rehearse`: "HOLDS", "FAILS" or "INCOMPLETE".
    reasons : why not, in words.
    rehearsal : the whole document.
    proved : obligations of the law proved for this build's own settings, and how many there are.
    """

    verdict: str
    reasons: tuple[str, ...]
    rehearsal: Rehearsal
    proved: tuple[int, int]

    @property
    def holds(self) -> bool:
        """Whether all judges were heard and none is against it."""
        return self.verdict == "HOLDS" and self.proved[0] == self.proved[1]


def verify(
    build: Build, seed: int, engine: Engine | None = None, say: Callable[[str], None] | None = None
) -> Verified:
    """Rehearse `build` whole, margins and proof with it, and prove the law for its own settings."""
    told = say or (lambda _: None)
    done = rehearse(build, seed, say=lambda text: told(f"verifying: {text}"), engine=engine)
    reasons, proved = list(done.reasons), (0, 0)
    try:
        proved, open_ids = _proved(build, told)
        reasons += [f"proof for this build's settings: {name} is not proved" for name in open_ids]
    except Unprovable as error:
        reasons.append(f"proof for this build's settings: {error}")
        proved = (0, 1)
    return Verified(done.verdict, tuple(reasons), done, proved)


def _proved(build: Build, say: Callable[[str], None]) -> tuple[tuple[int, int], list[str]]:
    """Return how many of the claims about a build's figures are proved of its own settings."""
    own = settings(build)
    rows = figures(own, 1000 * build.diode.absolute_A)
    ids = list(dict.fromkeys(row.obligation for row in rows))
    proof = prove_source(law_text(), ids, settings=own, say=lambda text: say(f"proving {text}"))
    open_ids = [row.id for row in proof.obligations if row.status != "proved"]
    return (len(proof.obligations) - len(open_ids), len(proof.obligations)), open_ids


def cuts_of(
    found: Verified, look: Look, before: Mapping[str, float]
) -> tuple[dict[str, float], list[str]]:
    """Return the room that the search must keep from now on, and what is new of it in words.

    Nothing is new where what failed is none of the limits that the search sees.

    Parameters
    ----------
    look : what the search saw of the choice that failed.
    before : the cuts so far, which stay.
    """
    rows = {row.id: row for row in look.rows}
    cuts, said = dict(before), []
    for name, short in _shortfalls(found.rehearsal):
        for row in _same(name, rows):
            # what the search saw, plus what the judges found it short of
            kept = max(row.room, 0.0) + _MORE * short * row.scale
            cuts[row.id] = max(cuts.get(row.id, 0.0), kept)
            said.append(f"{row.id}: {kept:.3g} {row.unit} of room kept from now on".rstrip())
    return cuts, list(dict.fromkeys(said))


def _shortfalls(done: Rehearsal) -> Iterator[tuple[str, float]]:
    """Yield the criterion of each limit that is missed, and by what part of the limit."""
    for finding in (*done.findings, *done.edges):
        if finding["status"] == "fails" and finding["margin"] is not None:
            yield finding["id"].removeprefix("edge-"), -finding["margin"]
    for row in done.margins.get("quantities", ()):
        if row["status"] == "fails":
            yield row["id"], -row["margin_worst"]
    for band in done.margins.get("guard_bands", ()):
        if not band["fits"]:
            yield band["word"], (band["needed"] - band["built_in"]) / (band["built_in"] or 1.0)
    for case in (*done.faults, *done.pairs):
        margin = case["tightest"]["margin"]
        if not case["survives"] and margin is not None and margin < 0:
            yield case["tightest"]["id"], -margin


def _same(name: str, rows: Mapping[str, Row]) -> list[Row]:
    """Return the rows of the search that speak of the same limit."""
    return [row for id, row in rows.items() if id.rsplit(".", 1)[-1] == name]
