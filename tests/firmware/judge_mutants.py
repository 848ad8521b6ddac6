"""Judge every mutant of the law; fail where one lives that `equivalent.py` does not answer for.

Two judges. The *tour*: does any state word differ from the law's own, at any tick of a short
recording that takes every branch (in MicroPython machine code, which is quick)? The desk's
*claims*, in CPython, stopped at the first that fails. A mutant that only the tour sees can be
reached, but nothing says that it matters. Verdicts are kept as they are found: a run that was
stopped goes on, one that was finished is only shown again, and of an edited file of claims only
what it killed is judged anew, with all that no claim killed; ``--afresh`` forgets everything. The
figures stand in docs/mutants.md, which ``--page`` writes; a stale page fails.
"""

import argparse
import os
import shutil
import sys
import tempfile
from collections import Counter
from collections.abc import Iterable
from functools import cache, partial
from multiprocessing import get_context
from pathlib import Path

import diodewright.sim
import engines
import judges
import mutants_page
import tour
from diodedriver import law
from diodewright.build.plain_file import replace_whole
from equivalent import EQUIVALENT
from mutants import LAW_HASH, TEXT, Mutant, in_place, mutants
from verdicts import Kept, Row, digest, of_package

QUICK_S = 0.02  # CPU time of a claim that even mutants called equivalent are asked
HERE = Path(__file__).parent
# what no verdict rests on, and what `claims_digest` looks at
_ASIDE = {"equivalent.py", "alive_under_proof.py", "mutants_page.py", "prove_mutants.py"}
_ASIDE |= {path.name for path in HERE.glob("test_*.py")}
_MUTANTS = list(mutants())
_ORDER = judges.Order()


def kept() -> Kept:
    """Return the verdicts of these judges on this law's mutants."""
    parts = (HERE, Path(law.__file__).parent, Path(diodewright.sim.__file__).parent)
    texts = [path for part in parts for path in part.glob("*.py") if path.name not in _ASIDE]
    return Kept("judged", digest(texts, LAW_HASH, of_package("numba")))


def claims_digest(claim: str | None) -> str:
    """Return the hash of what a verdict rests on: the file of the claim that killed, else all."""
    named = judges.CLAIMS if claim is None else (claim.partition(".")[0],)
    return digest(HERE / f"test_law_{name}.py" for name in named)


def _holds(row: Row | None) -> bool:
    """Return whether a verdict found before is still what would be found."""
    return row is not None and row["of"] == claims_digest(row["claim"])


def lay_out(folder: Path) -> None:
    """Make `folder` one to flash laws into, with the tour and what the law itself answers."""
    engines.lay_out(folder, engines.DECORATORS["viper"])
    (folder / "recording").write_bytes(tour.tour().as_bytes())
    (folder / "states").write_bytes(engines.play(folder).stdout)


@cache
def _own(folder: Path) -> Path:
    """Return a copy of `folder` that this process has to itself; it must not be asked before."""
    return Path(shutil.copytree(folder, folder / str(os.getpid()), ignore=_copies))


def _copies(folder: str, names: list[str]) -> list[str]:
    return [name for name in names if name.isdigit()]


def seen_on_tour(text: str, folder: Path) -> bool:
    """Return whether the law in `text`, flashed, answers the tour otherwise than the law."""
    (folder / "diodedriver" / "law.py").write_text(text, encoding="utf-8")
    return engines.play(folder, str(folder / "states")).returncode != 0


def claimed(mutant: Mutant) -> str | None:
    """Return the claim that fails with the mutant in the law's place, None where all hold."""
    longest_s = QUICK_S if mutant.name in EQUIVALENT else 1e9
    with in_place(mutant), judges.quick_guard(), judges.quick_lit():
        found = judges.failing(_ORDER.of(mutant.function, longest_s))
    if found is not None:
        _ORDER.learn(mutant.function, found)
    return found


def judge(number: int, folder: Path) -> Row:
    """Return who kills the mutant."""
    mutant = _MUTANTS[number]
    claim = claimed(mutant)
    return {
        "name": mutant.name,
        "kind": mutant.kind,
        "function": mutant.function,
        "tour": seen_on_tour(mutant.text, _own(folder)),
        "claim": claim,
        "of": claims_digest(claim),
    }


def _judge_all(verdicts: Kept) -> None:
    """Judge what has no verdict yet."""
    waiting = [n for n, mutant in enumerate(_MUTANTS) if not _holds(verdicts.rows.get(mutant.name))]
    if not waiting:
        return
    judges.times_s()  # every claim holds of the law itself
    with tempfile.TemporaryDirectory(prefix="mutants-") as name:
        folder = Path(name)
        lay_out(folder)
        if seen_on_tour(TEXT, folder):
            sys.exit("the law itself does not answer the tour twice alike")
        with get_context("fork").Pool(os.cpu_count()) as pool:
            asked = partial(judge, folder=folder)
            # the tick first: where something is wrong with all, that is seen at once
            for row in pool.imap_unordered(asked, waiting[::-1], chunksize=4):
                verdicts.add(row)


def who(row: Row) -> str:
    """Return who kills the mutant of this verdict."""
    return ("nobody", "the tour alone", "claims alone", "both")[
        bool(row["tour"]) + 2 * (row["claim"] is not None)
    ]


def unanswered(rows: Iterable[Row]) -> list[str]:
    """Return what is wrong between the verdicts and the answers in `equivalent.py`."""
    living = {str(row["name"]) for row in rows if who(row) == "nobody"}
    return [
        f"LIVES, and nothing says why: {name}" for name in sorted(living - EQUIVALENT.keys())
    ] + [
        f"called equivalent, but is killed or gone: {name}"
        for name in sorted(EQUIVALENT.keys() - living)
    ]


def main() -> int:
    """Judge all, print the table and the living; return the exit code."""
    given = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    given.add_argument("--afresh", action="store_true", help="forget earlier verdicts")
    given.add_argument("--page", action="store_true", help="write docs/mutants.md")
    options = given.parse_args()
    verdicts = kept()
    if options.afresh:
        verdicts.forget()
    _judge_all(verdicts)
    rows = [verdicts.rows[mutant.name] for mutant in _MUTANTS]
    found = Counter(who(row) for row in rows)
    print(f"law {LAW_HASH}, {len(rows)} mutants: {dict(found)}")
    by_function = Counter((str(row["function"]), who(row)) for row in rows)
    for (function, killer), count in sorted(by_function.items()):
        print(f"  {function:16} {killer:15} {count}")
    wrong = unanswered(rows)
    print(f"{found['nobody']} live, {len(EQUIVALENT)} are answered for in equivalent.py")
    text = mutants_page.page(rows)
    if options.page and not wrong:
        replace_whole(mutants_page.PAGE, text)
    elif mutants_page.stale(text):
        wrong.append("docs/mutants.md is stale: judge_mutants.py --page writes it")
    print("\n".join(wrong))
    return int(bool(wrong))


if __name__ == "__main__":
    sys.exit(main())
