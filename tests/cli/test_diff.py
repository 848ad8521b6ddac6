"""`diff A B` as a person and a script meet it: exit code, table, one JSON document."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

Ended = tuple[int, str, str]
pytestmark = pytest.mark.usefixtures("yard")


def _other_lamp() -> None:
    text = Path("good.toml").read_text("utf-8")
    assert text.count("\nhalf_A = 0.75\n") == text.count("delay_s = 5 ") == 1
    text = text.replace("\nhalf_A = 0.75\n", "\nhalf_A = 0.750003\n").replace(
        "delay_s = 5 ", "delay_s = 6 "
    )
    text = text.replace("in a workshop", "in a workplace")
    Path("other.toml").write_text(text, encoding="utf-8")


def _other_result() -> None:
    values = json.loads(Path("good.json").read_text("utf-8"))
    values["findings"][0] |= {"value": 1.75, "margin": 0.125}
    values["hazard"]["lines"][0] += ", in still air"
    Path("other.json").write_text(json.dumps(values), encoding="utf-8")


@pytest.mark.parametrize("pair", [("good.toml", "./good.toml"), ("good.json", "./good.json")])
def test_the_same_on_both_sides_is_exit_0_and_says_so(
    here: Callable[..., Ended], pair: tuple[str, str]
) -> None:
    code, out, err = here("diff", *pair)
    assert (code, err) == (0, "")
    assert "moved    nothing (exit 0)" in out
    code, out, _ = here("diff", *pair, "--json")
    assert code == 0
    assert json.loads(out)["moved"] == []


def test_two_builds_are_told_with_both_values_difference_and_unit(
    here: Callable[..., Ended],
) -> None:
    _other_lamp()
    code, out, err = here("diff", "good.toml", "other.toml")
    assert (code, err) == (1, "")
    rows = [line.split() for line in out.splitlines()]
    assert ["limits.delay_s", "5", "6", "+1", "s"] in rows
    # four digits would not tell them apart
    assert ["levels.half_A", "0.75", "0.750003", "+3e-06", "A"] in rows
    assert "moved    3 (exit 1): key 3" in out
    assert "workshop" in out
    assert "workplace" in out


def test_two_builds_as_json_say_the_same(here: Callable[..., Ended]) -> None:
    _other_lamp()
    code, out, _ = here("diff", "good.toml", "other.toml", "--json")
    document = json.loads(out)
    assert code == 1
    assert list(document) == ["format", "compared", "a", "b", "moved"]
    assert (document["format"], document["compared"]) == (1, "builds")
    assert (document["a"], document["b"]) == ("good.toml", "other.toml")
    moved = {row["item"]: row for row in document["moved"]}
    assert set(moved) == {"purpose", "limits.delay_s", "levels.half_A"}
    assert moved["levels.half_A"] == {
        "part": "key",
        "item": "levels.half_A",
        "figure": "",
        "where": "both",
        "a": 0.75,
        "b": 0.750003,
        "difference": 3e-06,
        "unit": "A",
    }


def test_two_results_are_told_by_part(here: Callable[..., Ended]) -> None:
    _other_result()
    code, out, err = here("diff", "good.json", "other.json")
    assert (code, err) == (1, "")
    rows = [line.split() for line in out.splitlines()]
    assert ["diode-current:", "value", "1.539", "1.75", "+0.2112", "A"] in rows
    assert "good.json (smoke_tunnel, HOLDS)" in out
    assert "finding 2" in out
    document = json.loads(here("diff", "good.json", "other.json", "--json")[1])
    assert document["compared"] == "results"
    assert {row["part"] for row in document["moved"]} == {"finding", "hazard lines"}


def test_a_result_is_known_by_its_text_where_its_name_does_not_tell(
    here: Callable[..., Ended],
) -> None:
    Path("result").write_bytes(Path("bom.json").read_bytes())
    assert here("diff", "./result", "good.json")[0] == 0
    assert here("diff", "good.toml", "./result")[0] == 2


def test_a_value_that_does_not_apply_is_null_in_json_and_said_in_words(
    here: Callable[..., Ended],
) -> None:
    lines = Path("good.toml").read_text("utf-8").splitlines()
    cells = ("part =", "series =", "parallel =", "capacity_Ah =", "cell_resistance_mohm =")
    start = lines.index("[pack]")
    end = lines.index("[stage]")
    pack = [line for line in lines[start:end] if not line.lstrip("#").startswith(cells)]
    text = "\n".join([*lines[:start], *pack, *lines[end:]]).replace(
        'kind = "cells"', 'kind = "bench_supply"\nsupply_V = 8.4\nsupply_limit_A = 3.0\n#', 1
    )
    Path("bench.toml").write_text(text, encoding="utf-8")
    code, out, err = here("diff", "good.toml", "bench.toml")
    assert (code, err) == (1, "")
    row = next(line.split() for line in out.splitlines() if line.startswith("pack.supply_V"))
    assert row == ["pack.supply_V", "not", "asked", "8.4", "V"]
    moved = json.loads(here("diff", "good.toml", "bench.toml", "--json")[1])["moved"]
    supply = next(row for row in moved if row["item"] == "pack.supply_V")
    assert (supply["a"], supply["b"], supply["difference"]) == (None, 8.4, None)


def test_help_says_the_exit_codes(here: Callable[..., Ended]) -> None:
    text = " ".join(here("diff", "--help")[1].split())
    assert "Exit codes: 0 nothing moved, 1 something moved, 2 bad input" in text
