"""A proof: every obligation of one law, decided."""

import hashlib
import json
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass
from typing import Any

from diodewright.prove.obligation import Bench
from diodewright.prove.obligations import chosen
from diodewright.prove.solve import Verdict, decide, solver_version
from diodewright.prove.source import read_law

__all__ = ["TIMEOUT_S", "Proof", "Verdict", "prove_source"]

#: Solver time for one obligation [s]; longer is "undecided".
TIMEOUT_S = 20.0


@dataclass(frozen=True)
class Proof:
    """What was proved of a law, and what was not."""

    law_hash: str
    solver: str
    obligations: tuple[Verdict, ...]

    @property
    def all_proved(self) -> bool:
        """Whether every obligation is proved."""
        return all(row.status == "proved" for row in self.obligations)

    def refuted(self) -> tuple[Verdict, ...]:
        """Return the refuted obligations, each with its case."""
        return tuple(row for row in self.obligations if row.status == "refuted")

    def as_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        rows = [asdict(row) for row in self.obligations]
        return {
            "all_proved": self.all_proved,
            "law_hash": self.law_hash,
            "solver": self.solver,
            "obligations": rows,
        }

    def as_json(self) -> str:
        """Return the proof as JSON text."""
        return json.dumps(self.as_dict(), indent=1) + "\n"


def prove_source(
    source: str,
    ids: list[str] | None = None,
    timeout_s: float = TIMEOUT_S,
    settings: Mapping[str, int] | None = None,
    say: Callable[[str], None] = lambda _: None,
) -> Proof:
    """Prove the law in `source`.

    Parameters
    ----------
    source : the text of a law.
    ids : obligations by id; all where None.
    timeout_s : solver time for one obligation [s]; longer is "undecided".
    settings : a build's own words by name, instead of all that are accepted.
    say : called with each obligation's id before it is decided.

    Raises
    ------
    Refused
        The source has a construct that isn't modelled.
    UnknownObligation
        An id that there is none of.
    """
    bench = Bench(read_law(source), settings)
    rows = []
    for obligation in chosen(ids):
        say(obligation.id)
        rows.append(decide(bench, obligation, timeout_s))
    digest = hashlib.sha256(source.encode()).hexdigest()
    return Proof(digest, solver_version(), tuple(rows))
