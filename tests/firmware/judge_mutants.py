"""Judge every mutant of the law; fail where one lives that `equivalent.py` does not answer for.

Two judges, in this order: the *tour* (does any state word differ from the law's own, at any tick
of a short recording that takes every branch? in MicroPython machine code, which is quick), and the
desk's *claims*, in CPython, for those that the tour does not tell from the law. A mutant that only
the tour sees is reachable but not shown to matter; ``--claims`` asks the claims about every
mutant, which takes an hour.
"""

import os
import shutil
import sys
import tempfile
from collections import Counter
from contextlib import nullcontext
from functools import cache
from multiprocessing import Pool
from pathlib import Path

import engines
import judges
import tour
from equivalent import EQUIVALENT
from mutants import Mutant, in_place, mutants

QUICK_S = 0.02  # CPU time of a claim that even mutants called equivalent are asked


@cache
def _bench() -> tuple[Path, bytes]:
    """Return a folder of this process to flash laws into, and what the law itself answers."""
    folder = Path(tempfile.mkdtemp(prefix="mutants-"))
    engines.lay_out(folder, engines.DECORATORS["viper"])
    (folder / "recording").write_bytes(tour.tour().as_bytes())
    return folder, engines.play(folder).stdout


def seen_on_tour(mutant: Mutant) -> bool:
    """Return whether the flashed mutant answers the tour otherwise, or not to its end."""
    folder, whole = _bench()
    (folder / "diodedriver" / "law.py").write_text(mutant.text, encoding="utf-8")
    return engines.play(folder).stdout != whole


def _claims(quick: bool) -> list[judges.Claim]:
    return [claim for took, claim in judges.timed_claims() if took <= QUICK_S or not quick]


def judge(number: int) -> tuple[str, str]:
    """Return the mutant's name and who kills it: "tour", "claims", "both" or "nobody"."""
    mutant = _MUTANTS[number]
    every = "--claims" in sys.argv[1:]
    toured = seen_on_tour(mutant)
    if toured and not every:
        return mutant.name, "tour"
    sys.stderr = open(os.devnull, "w")  # noqa: PTH123, SIM115 - replay tells of each raise
    quick = nullcontext() if mutant.function == "guard" else judges.quick_guard()
    with in_place(mutant), quick:
        claimed = judges.failing(_claims(mutant.name in EQUIVALENT)) is not None
    return mutant.name, ("nobody", "claims", "tour", "both")[claimed + 2 * toured]


_MUTANTS = list(mutants())


def main() -> int:
    """Judge all, print the table and the living; return the exit code."""
    judges.timed_claims()  # measured once, before there are workers
    with Pool(os.cpu_count()) as pool:
        verdicts = dict(pool.imap_unordered(judge, range(len(_MUTANTS)), chunksize=4))
        pool.map(_leave, range(100))
    killers = Counter(verdicts.values())
    print(f"{len(verdicts)} mutants: {dict(killers)}")
    by_function = Counter((name.partition("+")[0], who) for name, who in verdicts.items())
    for (function, who), count in sorted(by_function.items()):
        print(f"  {function:16} {who:7} {count}")
    living = {name for name, who in verdicts.items() if who == "nobody"}
    for name in sorted(living - EQUIVALENT.keys()):
        print("LIVES, and nothing says why:", name)
    for name in sorted(EQUIVALENT.keys() - living):
        print("called equivalent, but is killed or gone:", name)
    return int(living != EQUIVALENT.keys())


def _leave(_number: int) -> None:
    if _bench.cache_info().currsize:
        shutil.rmtree(_bench()[0], ignore_errors=True)


if __name__ == "__main__":
    sys.exit(main())
