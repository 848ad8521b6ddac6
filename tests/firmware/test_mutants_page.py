"""docs/mutants.md speaks of this law; its figures are judged anew by a step of .ci/run."""

import json
import re

import mutants_page
import prove_mutants
from alive_under_proof import GROUPS, group_of
from diodewright.prove.obligation import Bench
from diodewright.prove.obligations import obligation_of
from diodewright.prove.solve import goals
from diodewright.prove.source import read_law
from equivalent import EQUIVALENT
from mutants import LAW_HASH, TEXT, Mutant, mutants

COMMAND = "run python tests/firmware/judge_mutants.py --page"


def test_the_page_of_the_mutants_is_about_this_law() -> None:
    text = mutants_page.PAGE.read_text(encoding="utf-8")
    every = text.split("## The prover", 1)[0]
    found = re.search(r"Law `(\w+)`, ([\d,]+) mutants", every)
    assert found, COMMAND
    assert found[1] == LAW_HASH, COMMAND
    assert int(found[2].replace(",", "")) == sum(1 for _ in mutants()), COMMAND


def test_the_prover_s_sample_is_of_this_law_or_the_page_says_of_which() -> None:
    record = json.loads(mutants_page.RECORD.read_text(encoding="utf-8"))
    proved = mutants_page.PAGE.read_text(encoding="utf-8").split("## The prover", 1)[1]
    assert f"`{record['law']}`" in proved, COMMAND
    assert ("another law" in proved) == (record["law"] != LAW_HASH), COMMAND


def test_whatever_the_proof_leaves_alive_has_its_reason() -> None:
    record = json.loads(mutants_page.RECORD.read_text(encoding="utf-8"))
    alive = {row["name"] for row in record["verdicts"] if row["verdict"] == "proved"}
    alive -= EQUIVALENT.keys()
    assert not [name for name in sorted(alive) if group_of(name) not in GROUPS]


def _mutant(name: str) -> Mutant:
    return next(mutant for mutant in mutants() if mutant.name == name)


def test_a_mutant_that_overlooks_the_interlock_is_refuted_and_its_untouched_rows_not_asked() -> (
    None
):
    law = Bench(read_law(TEXT))
    known = {goal.formula for goal in goals(law, obligation_of("convert"))}
    overlooks = _mutant("demand+10: hard |= 1 -> pass")
    row = prove_mutants.ask(overlooks.text, ["convert", "zero-hard"], known, limit_s=60)
    assert (row["verdict"], row["by"]) == ("refuted", "zero-hard")
    # no time at all: what is known needs none, what is not known stays open
    row = prove_mutants.ask(overlooks.text, ["convert", "zero-hard"], known, limit_s=0)
    assert (row["verdict"], row["open"]) == ("undecided", ["zero-hard"])


def test_a_mutant_that_sets_no_name_is_refused_and_no_proof() -> None:
    nameless = _mutant("shape+6: ramp = state[_S_RAMP] + 1 -> pass")
    assert prove_mutants.ask(nameless.text, ["convert"], set())["verdict"] == "refused"
