"""One obligation to its verdict: proved, refuted by numbers that misbehave, or undecided.

Proved is only what the solver shows to have no counterexample. Refuted is only what the law itself,
run in CPython on the solver's numbers, breaks: a number that the law survives is no
counterexample, and the search goes on with more of the arithmetic told. What is neither stays
undecided.
"""

import hashlib
import time
from collections.abc import Container, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import z3

from diodewright.prove import terms
from diodewright.prove.bits import number
from diodewright.prove.case import Case, case_of, load_law, misbehaves
from diodewright.prove.evaluate import evaluate, in_order
from diodewright.prove.invariants import assumed
from diodewright.prove.obligation import Bench, Formula, Goal, Obligation
from diodewright.prove.outcome import Memory
from diodewright.prove.terms import Bool, Node
from diodewright.prove.verdict import Verdict

__all__ = ["decide", "goals"]

Numbers = dict[str, int]


def decide(
    bench: Bench, obligation: Obligation, timeout_s: float, known: Container[Formula] = ()
) -> Verdict:
    """Return the verdict on `obligation`.

    Parameters
    ----------
    bench : the law. `obligation` : what is claimed of it.
    timeout_s : bound of the solver's whole time [s].
    known : formulas that were proved already, of this law or another; they are not asked again.
    """
    begun = time.perf_counter()
    law = load_law(bench.law.text)
    deadline_s = begun + timeout_s
    status, why, case = "proved", "", None
    for goal in goals(bench, obligation):
        if goal.formula in known:
            continue
        found = _Search(bench, obligation, goal, law, deadline_s).find()
        if found is not None:
            status, why, case = found
            why = f"{goal.at}: {why}" if goal.at else why
            if status == "refuted":
                break
    return Verdict(
        obligation.id, obligation.meaning, status, time.perf_counter() - begun, why, case
    )


def goals(bench: Bench, obligation: Obligation) -> Iterator[Goal]:
    """Yield the formulas that `obligation` comes to on the law of `bench`."""
    setups = obligation.setups
    views = tuple(bench.view(setup, twin) for twin, setup in enumerate(setups))
    given: list[Bool] = []
    for setup, view in zip(setups, views, strict=True):
        if not setup.stray_limits:
            given += bench.accepted(view)
        if setup.invariants and not setup.stray_state:
            given += assumed(view)
    if not obligation.checks:
        yield Goal(setups, views, tuple(given), obligation.claim(*views))
        return
    elsewhere = terms.negate(obligation.claim(*views))
    for check in bench.run(setups[0])[1].checks:
        if check.kind not in obligation.checks:
            continue
        claim = terms.any_of((elsewhere, *map(terms.negate, check.path), check.holds))
        yield Goal(setups, views, tuple(given), claim, f"line {check.line}: {check.kind}")


@dataclass
class _Search:
    bench: Bench
    obligation: Obligation
    goal: Goal
    law: Mapping[str, Any]
    deadline_s: float

    def find(self) -> tuple[str, str, Case | None] | None:
        """Return None where the goal is proved, else status, reason and case."""
        wrong = terms.negate(self.goal.claim)
        if wrong is False:
            return None
        pinned: Numbers = {}
        # first with facts alone, then with how alike terms grow, then everything told: on the
        # settings of the last try, and on all
        for exact, pairs in ((False, False), (False, True), (True, False), (True, False)):
            answer, numbers = self._ask(wrong, exact, pairs, pinned if exact else {})
            if answer == "unsat" and not (exact and pinned):
                return None
            if exact:
                pinned = {}
            if answer == "sat":
                found = self._try(numbers)
                if found is not None:
                    return found
                if not exact:
                    pinned = {k: v for k, v in numbers.items() if k.startswith("limits.")}
        if answer == "sat":
            return "undecided", "the solver's numbers do not misbehave in the law", None
        return "undecided", "no answer in time", None

    def _ask(self, wrong: Bool, exact: bool, pairs: bool, pinned: Numbers) -> tuple[str, Numbers]:
        left_ms = int(1000 * (self.deadline_s - time.perf_counter()))
        if left_ms <= 0:
            return "unknown", {}
        lowering = self.bench.lowering(exact)
        roots = (*self.goal.given, wrong)
        asked = [lowering.truth(part) for part in roots]
        solver = z3.SimpleSolver(ctx=lowering.context)
        solver.set("timeout", left_ms)
        for fact in (*lowering.facts_of(roots, pairs), *asked):
            # what `solver.add` does, without its casts, which took longer than most proofs
            z3.Z3_solver_assert(lowering.context.ref(), solver.solver, fact.as_ast())
        for name, value in pinned.items():
            solver.add(z3.Int(name, lowering.context) == value)
        answer = str(solver.check())
        if answer != "sat":
            return answer, {}
        model = solver.model()
        numbers = {}
        for held in model.decls():
            value = model[held]
            if z3.is_int_value(value):
                numbers[held.name()] = value.as_long()
            elif z3.is_bool(value):
                numbers[held.name()] = int(z3.is_true(value))
        return answer, numbers

    def _try(self, numbers: Numbers) -> tuple[str, str, Case | None] | None:
        arrays = [_concrete(view.before, numbers) for view in self.goal.views]
        why = misbehaves(self.obligation, self.goal.setups, arrays, self.law)
        if not why:
            return None
        digest = hashlib.sha256(self.bench.law.text.encode()).hexdigest()
        return "refuted", why, case_of(self.obligation, self.goal, arrays, digest)


def _concrete(memory: Memory, numbers: Numbers) -> dict[str, list[int]]:
    """Return arrays of numbers; a word that the counterexample leaves open takes its lowest."""
    inputs: dict[str, int] = {}
    flat = [number(value) for values in memory.values() for value in values]
    for node in in_order(flat):
        if isinstance(node, Node) and node.op in ("var", "bool"):
            name = str(node.args[0])
            inputs[name] = numbers.get(name, max(node.low, min(node.high, 0)))
    found = iter(evaluate(flat, inputs))
    return {name: [int(next(found)) for _ in values] for name, values in memory.items()}
