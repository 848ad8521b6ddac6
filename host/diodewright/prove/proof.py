"""A proof: every obligation of one law, decided."""

import hashlib
import json
import os
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass
from importlib.metadata import PackageNotFoundError, version
from importlib.util import find_spec
from typing import Any

from diodewright.prove.obligations import chosen
from diodewright.prove.source import read_law
from diodewright.prove.verdict import Verdict

__all__ = ["TIMEOUT_S", "Proof", "Unprovable", "prove_source", "solver_version"]

#: Solver time for one obligation [s]; longer is "undecided".
TIMEOUT_S = 60.0


class Unprovable(RuntimeError):
    """There is no solver here; nothing is proved, and nothing counts as proved."""


@dataclass(frozen=True)
class Proof:
    """What was proved of a law, and what was not."""

    law_hash: str
    solver: str
    obligations: tuple[Verdict, ...]

    @property
    def all_proved(self) -> bool:
        """Whether there are obligations and every one is proved."""
        return bool(self.obligations) and all(row.status == "proved" for row in self.obligations)

    def of(self, status: str) -> tuple[Verdict, ...]:
        """Return the obligations of that status."""
        return tuple(row for row in self.obligations if row.status == status)

    def open(self) -> tuple[Verdict, ...]:
        """Return the obligations that are not proved."""
        return tuple(row for row in self.obligations if row.status != "proved")

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

    @classmethod
    def from_dict(cls, values: Mapping[str, Any]) -> "Proof":
        """Return the proof that `as_dict` made."""
        rows = tuple(Verdict(**row) for row in values["obligations"])
        return cls(values["law_hash"], values["solver"], rows)


def solver_version() -> str:
    """Return the solver's name and version; `Unprovable` where there is none."""
    try:
        if find_spec("z3") is not None:
            return f"z3 {version('z3-solver')}"
    except (ImportError, ValueError, PackageNotFoundError):
        pass
    raise Unprovable("no solver: install z3-solver; without it nothing is proved")


def prove_source(
    source: str,
    ids: list[str] | None = None,
    timeout_s: float = TIMEOUT_S,
    settings: Mapping[str, int] | None = None,
    workers: int | None = None,
    say: Callable[[str], None] = lambda _: None,
) -> Proof:
    """Prove the law in `source`.

    Parameters
    ----------
    source : the text of a law.
    ids : obligations by id; all where None.
    timeout_s : solver time for one obligation [s]; longer is "undecided".
    settings : a build's own words by name, instead of all that are accepted.
    workers : processes side by side; 0 works in this one; None takes two for more than a few ids.
    say : called with each obligation's id before it is decided.

    Raises
    ------
    Refused
        The source has a construct that isn't modelled.
    UnknownObligation
        An id that there is none of.
    Unprovable
        There is no solver.
    """
    solver = solver_version()
    law = read_law(source)
    names = [obligation.id for obligation in chosen(ids)]
    if workers is None:
        workers = 0 if len(names) <= _FEW else min(2, os.cpu_count() or 1)
    if workers:
        from diodewright.prove.workers import decide_all

        found = decide_all(source, names, timeout_s, settings, workers, say)
    else:
        from diodewright.prove.obligation import Bench
        from diodewright.prove.solve import decide

        bench = Bench(law, settings)
        found = {}
        for obligation in chosen(ids):
            say(obligation.id)
            found[obligation.id] = decide(bench, obligation, timeout_s)
    digest = hashlib.sha256(source.encode()).hexdigest()
    return Proof(digest, solver, tuple(found[name] for name in names))


_FEW = 8
