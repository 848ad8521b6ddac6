"""An obligation: one claim in words and as a formula over the words around one tick."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from diodedriver import words
from diodewright.prove import domain
from diodewright.prove.outcome import Memory, Outcome
from diodewright.prove.source import Law
from diodewright.prove.terms import Bool
from diodewright.prove.translate import run
from diodewright.prove.view import View

if TYPE_CHECKING:
    from diodewright.prove.lower import Lowering

__all__ = ["TICK", "Bench", "Formula", "Goal", "Obligation", "Setup"]


@dataclass(frozen=True)
class Setup:
    """What is run: a function of the law, on which arrays.

    Attributes
    ----------
    function : its name; `arrays` : what it is given, in order.
    fixed : words ("raw.mux_channel") that have one value, with it.
    stray_state, stray_limits : any int32 instead of the range of the word table.
    invariants : whether the named invariants are assumed of the state before.
    own : words in which a second tick differs from the first.
    """

    function: str = "tick"
    arrays: tuple[str, ...] = ("state", "limits", "readings", "raw")
    stray_state: bool = False
    stray_limits: bool = False
    invariants: bool = True
    own: tuple[str, ...] = ()
    fixed: tuple[tuple[str, int], ...] = ()


TICK = Setup()
Formula = tuple[tuple[Bool, ...], Bool]


@dataclass(frozen=True)
class Goal:
    """One formula to be shown: `claim` holds of `views`, where `given` does."""

    setups: tuple[Setup, ...]
    views: tuple[View, ...]
    given: tuple[Bool, ...]
    claim: Bool
    at: str = ""

    @property
    def formula(self) -> Formula:
        """What is given and what is claimed; equal of two laws where the solver is asked alike."""
        return self.given, self.claim


@dataclass(frozen=True)
class Obligation:
    """One row of the proof.

    Attributes
    ----------
    id : short, stable. `meaning` : the claim in words.
    claim : the claim over one view for each of `setups`; runs on numbers as well.
    setups : the ticks it speaks of.
    checks : kinds of what `translate` noted; the obligation is that they hold where `claim` does.
    """

    id: str
    meaning: str
    claim: Callable[..., Bool]
    setups: tuple[Setup, ...] = (TICK,)
    checks: tuple[str, ...] = ()


@dataclass
class Bench:
    """A law with its runs, each made once.

    Attributes
    ----------
    law : the law.
    settings : its limits where they are fixed, else None: any that are accepted.
    """

    law: Law
    settings: Mapping[str, int] | None = None
    _runs: dict[tuple[Setup, int], tuple[Memory, Outcome]] = field(default_factory=dict)
    _lowerings: dict[bool, "Lowering"] = field(default_factory=dict)

    def run(self, setup: Setup, twin: int = 0) -> tuple[Memory, Outcome]:
        """Return the arrays before `setup` and what it left; a twin has words of its own."""
        key = (setup, twin)
        if key not in self._runs:
            before = domain.arrays(
                dict(setup.fixed),
                self.settings,
                setup.stray_limits,
                setup.stray_state,
                setup.own,
                twin,
            )
            outcome = run(self.law, setup.function, before, setup.arrays)
            self._runs[key] = (before, outcome)
        return self._runs[key]

    def lowering(self, exact: bool) -> "Lowering":
        """Return the one lowering of this bench, so that a word shared is lowered once."""
        from diodewright.prove.lower import Lowering

        if exact not in self._lowerings:
            self._lowerings[exact] = Lowering(exact)
        return self._lowerings[exact]

    def view(self, setup: Setup, twin: int = 0) -> View:
        """Return the view of `setup`."""
        before, outcome = self.run(setup, twin)
        return View(before, outcome.memory, outcome.value)

    def accepted(self, view: View) -> list[Bool]:
        """Return what settings validation demands of the limits."""
        names = {name for lower, higher, _ in words.ORDER for name in (lower, higher)}
        return domain.order({name: view.limit(name) for name in names})
