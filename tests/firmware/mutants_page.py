"""docs/mutants.md: which kinds of change of the law are noticed, and by whom."""

import json
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path

from alive_under_proof import GROUPS, group_of
from equivalent import EQUIVALENT
from mutants import LAW_HASH
from verdicts import Row

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "docs" / "mutants.md"
#: The prover's verdicts on a sample, as `prove_mutants.py --keep` left them.
RECORD = Path(__file__).with_name("mutants_proved.json")
INTRO = """# Which changes of the law are noticed, and by whom

Written by `tests/firmware/judge_mutants.py --page`; that command, a step of `.ci/run`, fails where
a figure of the first table is no longer so. A *mutant* is the law with one place changed:
`tests/firmware/mutants.py` makes them all, by rule, none is chosen by hand. The law is named by
the hash of its syntax tree, docstrings left out.

- The *tour* compares: some state word, at some tick of a short recording that takes every branch,
  differs from the law's own. It says that the change can be reached, not that it matters.
- The *claims* (`tests/firmware/test_law_*.py`) say what the law should do; one of them fails.
- The *prover* (`diodewright prove`) refutes an obligation with numbers on which the mutant
  misbehaves.
"""
EVERY = """
## Tour and claims, over every mutant

Law `{law}`, {count:,} mutants. {living} live; each has a reason in `tests/firmware/equivalent.py`
why nothing that the law does differs.

"""
SAMPLE = """
## The prover, over a sample

Law `{law}`, {size} of {count:,} mutants, the first of a shuffle with seed {seed}; {solver},
{obligations} obligations, {obligation_s:g} s for each of them and {mutant_s:g} s for a mutant.
A mutant's proof ends at the first obligation refuted. *Refuses*: not a law that the prover reads
(a name that is not set on every path), which is no proof either. *Undecided*: some obligation
neither proved nor refuted in that time, on a machine with other work; never called proved.
*Alive*: every obligation holds of the mutant.

"""
OTHER = """
## The prover, over a sample

The sample on record was proved of another law, `{law}`. `python tests/firmware/prove_mutants.py
--sample {size} --seed {seed} --keep` proves it of this one.
"""
GONE = """
### Noticed by the tour or a claim, alive under the proof

The proof speaks of the light and of what keeps it dark, over one tick at a time. Why it lets these
through, by group; a mutant that stands in `equivalent.py` is not among them.

"""
OPEN = """
### Undecided

"""


def table(head: Sequence[str], lines: Iterable[Sequence[object]]) -> str:
    """Return a table in Markdown."""
    shown = [head, ["---", *["---:"] * (len(head) - 1)], *lines]
    return "".join("| " + " | ".join(str(cell) for cell in line) + " |\n" for line in shown)


Column = tuple[str, Callable[[Row], bool]]
_TOUR: Column = ("tour", lambda row: bool(row["tour"]))
_CLAIMS: Column = ("claims", lambda row: row["claim"] is not None)
_JUDGED: tuple[Column, ...] = (
    _TOUR,
    _CLAIMS,
    ("tour alone", lambda row: bool(row["tour"]) and row["claim"] is None),
    ("claims alone", lambda row: not row["tour"] and row["claim"] is not None),
    ("nobody", lambda row: not row["tour"] and row["claim"] is None),
)
_PROVED: tuple[Column, ...] = (
    _TOUR,
    _CLAIMS,
    ("prover refutes", lambda row: row["verdict"] == "refuted"),
    ("refuses", lambda row: row["verdict"] == "refused"),
    ("undecided", lambda row: row["verdict"] == "undecided"),
    ("alive", lambda row: row["verdict"] == "proved"),
    (
        "nobody",
        lambda row: (
            not row["tour"]
            and row["claim"] is None
            and row["verdict"] not in ("refuted", "refused")
        ),
    ),
)


def by_kind(rows: Sequence[Row], columns: Sequence[Column]) -> str:
    """Return the table of kinds of change against `columns`."""
    kinds = Counter(str(row["kind"]) for row in rows)
    lines = [
        [kind, count, *(sum(asks(r) for r in rows if r["kind"] == kind) for _, asks in columns)]
        for kind, count in kinds.most_common()
    ]
    total = ["**all**", len(rows), *(sum(map(asks, rows)) for _, asks in columns)]
    return table(["kind of change", "mutants", *(name for name, _ in columns)], [*lines, total])


def _sample(judged: Mapping[str, Row], record: Mapping[str, object]) -> str:
    verdicts: list[Row] = record["verdicts"]
    if record["law"] != LAW_HASH:
        return OTHER.format(law=record["law"], size=len(verdicts), seed=record["seed"])
    rows = [judged[str(row["name"])] | row for row in verdicts]
    text = SAMPLE.format(**record, size=len(rows), count=len(judged))
    text += by_kind(rows, _PROVED)
    alive = [str(row["name"]) for row in rows if row["verdict"] == "proved"]
    alone = [row for row in rows if row["verdict"] == "refuted" and row["claim"] is None]
    text += f"\nRefuted by the prover and by no claim: {len(alone)}.\n"
    text += "".join(f"- `{row['name']}` ({row['by']})\n" for row in alone)
    same = sum(name in EQUIVALENT for name in alive)
    text += f"\nOf the {len(alive)} alive, {same} stand in `equivalent.py`.\n" + GONE
    for reason in (*GROUPS, ""):
        held = [n for n in alive if n not in EQUIVALENT and group_of(n) == reason]
        if held:
            text += f"- {reason or 'No reason is written yet'}:\n"
            text += "".join(f"  - `{name}`\n" for name in held)
    undecided = [row for row in rows if row["verdict"] == "undecided"]
    if undecided:
        text += OPEN + "".join(f"- `{r['name']}`: {', '.join(r['open'])}\n" for r in undecided)
    return text


def page(rows: Sequence[Row]) -> str:
    """Return the page of these verdicts and of the prover's record."""
    living = sum(not row["tour"] and row["claim"] is None for row in rows)
    text = INTRO + EVERY.format(law=LAW_HASH, count=len(rows), living=living)
    text += by_kind(rows, _JUDGED)
    judged = {str(row["name"]): row for row in rows}
    return text + _sample(judged, json.loads(RECORD.read_text(encoding="utf-8")))


def stale(text: str) -> bool:
    """Return whether the page says something else."""
    return not PAGE.exists() or PAGE.read_text(encoding="utf-8") != text
