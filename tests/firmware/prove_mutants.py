"""Ask the prover about a sample of the law's mutants; stop at the first obligation refuted.

``prove_mutants.py --sample N --seed S`` goes on where it was stopped, and a larger sample of the
same seed begins with the smaller one. Each mutant has a process of its own. What a mutant leaves
as it is in the law (the same formula to the solver) was proved with the law and is not asked
again. ``--keep`` writes the sample down for docs/mutants.md.

Verdicts: *refuted* (by numbers on which the mutant, run in CPython, breaks the claim), *refused*
(not a law that the prover reads), *undecided* (some obligation is neither proved nor refuted
within its time: never called proved), *proved* (every obligation holds of the mutant).
"""

import argparse
import gc
import json
import os
import random
import sys
import time
from collections import Counter
from dataclasses import dataclass, field
from multiprocessing import get_context
from multiprocessing.connection import Connection, wait
from pathlib import Path

import diodewright.prove
from diodewright.build.plain_file import replace_whole
from diodewright.prove import solver_version
from diodewright.prove.obligation import Bench, Formula
from diodewright.prove.obligations import OBLIGATIONS, obligation_of
from diodewright.prove.solve import decide, goals
from diodewright.prove.source import Refused, read_law
from mutants import LAW_HASH, TEXT, Mutant, mutants
from verdicts import Kept, Row, digest, of_package

#: Solver time for one obligation of a mutant [s], and until a mutant is given up [s].
OBLIGATION_S, MUTANT_S = 20.0, 300.0
RECORD = Path(__file__).with_name("mutants_proved.json")
_FORK = get_context("fork")  # the law's own formulas are handed on by it


def kept() -> Kept:
    """Return the verdicts of this prover on this law's mutants."""
    prover = Path(diodewright.prove.__file__).parent.glob("*.py")
    return Kept("proved", digest(prover, LAW_HASH, of_package("z3-solver")))


def sample(size: int, seed: int) -> list[Mutant]:
    """Return the first `size` mutants of a shuffle."""
    every = list(mutants())
    random.Random(seed).shuffle(every)
    return every[:size]


@dataclass
class Order:
    """In which order obligations are asked: what refuted most in this function, then the quick."""

    took_s: dict[str, float]
    known: set[Formula]
    refuted: Counter[tuple[str, str]] = field(default_factory=Counter)

    def of(self, function: str) -> list[str]:
        """Return the ids for a mutant of `function`."""
        return sorted(
            self.took_s,
            key=lambda name: (
                -self.refuted[function, name],
                -self.refuted["", name],
                self.took_s[name],
            ),
        )

    def learn(self, function: str, name: str) -> None:
        """Note that `name` refuted a mutant of `function`."""
        self.refuted[function, name] += 1
        self.refuted["", name] += 1


def ask(text: str, names: list[str], known: set[Formula], limit_s: float = OBLIGATION_S) -> Row:
    """Return what the prover says of the law in `text`."""
    begun = time.perf_counter()
    open_: list[str] = []
    verdict, by = "proved", ""
    try:
        bench = Bench(read_law(text))
        for name in names:
            status = decide(bench, obligation_of(name), limit_s, known).status
            if status == "refuted":
                verdict, by = status, name
                break
            if status != "proved":
                open_.append(name)
    except Refused as refused:
        verdict, by = "refused", str(refused)
    if verdict == "proved" and open_:
        verdict = "undecided"
    return {
        "verdict": verdict,
        "by": by,
        "open": open_,
        "took_s": round(time.perf_counter() - begun, 2),
    }


def _child(answer: Connection, text: str, names: list[str], known: set[Formula]) -> None:
    answer.send(ask(text, names, known))


def _law_itself(answer: Connection) -> None:
    bench = Bench(read_law(TEXT))
    for obligation in OBLIGATIONS:
        verdict = decide(bench, obligation, 60.0)
        if verdict.status != "proved":
            sys.exit(f"the law itself: {obligation.id} is {verdict.status}; prove that first")
        answer.send((obligation.id, verdict.seconds))
    answer.send(None)


def begin() -> Order:
    """Prove the law itself, in a process of its own; return what its mutants need not prove.

    This process stays without a solver: what it forks would have the solver's clock, but not the
    thread that watches it.
    """
    ours, theirs = _FORK.Pipe(duplex=False)
    _FORK.Process(target=_law_itself, args=(theirs,)).start()
    theirs.close()
    took_s = dict(iter(ours.recv, None))
    bench = Bench(read_law(TEXT))
    known = {goal.formula for obligation in OBLIGATIONS for goal in goals(bench, obligation)}
    gc.freeze()
    return Order(took_s, known)


def prove(wanted: list[Mutant], verdicts: Kept, workers: int) -> None:
    """Ask about every mutant of `wanted` that has no verdict yet."""
    waiting = [mutant for mutant in reversed(wanted) if mutant.name not in verdicts.rows]
    order = begin() if waiting else None
    running: dict[Connection, tuple[object, Mutant, float]] = {}
    while order and (waiting or running):
        while waiting and len(running) < workers:
            mutant = waiting.pop()
            ours, theirs = _FORK.Pipe(duplex=False)
            names = order.of(mutant.function)
            process = _FORK.Process(target=_child, args=(theirs, mutant.text, names, order.known))
            process.start()
            theirs.close()
            running[ours] = process, mutant, time.monotonic() + MUTANT_S
        late = min(end for _, _, end in running.values()) - time.monotonic()
        ready = wait(list(running), max(0.0, late))
        for ours, (process, mutant, end) in list(running.items()):
            if ours not in ready and time.monotonic() < end:
                continue
            row: Row = {"verdict": "undecided", "by": "", "open": ["no answer in time"]}
            if ours in ready:
                try:
                    row = ours.recv()
                except EOFError:
                    row["open"] = ["the prover ended"]
            process.kill()
            process.join()
            ours.close()
            del running[ours]
            verdicts.add({"name": mutant.name, "kind": mutant.kind} | row)
            if row["verdict"] == "refuted":
                order.learn(mutant.function, str(row["by"]))


def main() -> int:
    """Prove the sample, print what became of it; return the exit code."""
    given = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    given.add_argument("--sample", type=int, default=200)
    given.add_argument("--seed", type=int, default=1)
    given.add_argument("--keep", action="store_true", help="write the sample down")
    given.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    options = given.parse_args()
    wanted = sample(options.sample, options.seed)
    verdicts = kept()
    prove(wanted, verdicts, options.workers)
    rows = [verdicts.rows[mutant.name] for mutant in wanted]
    print(f"law {LAW_HASH}, seed {options.seed}: {len(rows)} mutants")
    print(dict(Counter(str(row["verdict"]) for row in rows)))
    for row in rows:
        if row["verdict"] in ("proved", "undecided"):
            print(f"{row['verdict']:9} {row['name']} {row['open'] or ''}")
    if options.keep:
        record = {
            "law": LAW_HASH,
            "seed": options.seed,
            "solver": solver_version(),
            "obligations": len(OBLIGATIONS),
            "obligation_s": OBLIGATION_S,
            "mutant_s": MUTANT_S,
            "verdicts": [
                {part: row[part] for part in ("name", "verdict", "by", "open")} for row in rows
            ],
        }
        replace_whole(RECORD, json.dumps(record, indent=1) + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
