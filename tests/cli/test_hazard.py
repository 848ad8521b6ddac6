"""The hazard on the command line: its exit code is the verdict, its folder comes whole."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

#: exit code, standard output, standard error
Ended = tuple[int, str, str]


@pytest.mark.parametrize(
    ("line", "code", "said"),
    [
        ("delay_s = 5 ", 0, "HOLDS (exit 0)"),
        ("delay_s = 1 ", 1, "FAILS (exit 1): class 4: indicator before emission 1 s"),
    ],
)
def test_the_exit_code_says_whether_what_the_class_asks_for_is_there(
    yard: Path, here: Callable[..., Ended], line: str, code: int, said: str
) -> None:
    text = (yard / "good.toml").read_text("utf-8")
    assert text.count("delay_s = 5 ") == 1
    (yard / "mine.toml").write_text(text.replace("delay_s = 5 ", line))
    ended, out, err = here("hazard", "mine.toml", "--out", "kept")
    assert (ended, err) == (code, "")
    assert said in " ".join(out.split())
    document = json.loads((yard / "kept" / "hazard.json").read_text("utf-8"))
    assert document["verdict"] == ("HOLDS", "FAILS")[code]
    assert bool(document["reasons"]) is bool(code)
    assert (yard / "kept" / "hazard.svg").read_text("utf-8").startswith("<?xml")


def test_a_laser_that_never_lights_is_not_judged(yard: Path, here: Callable[..., Ended]) -> None:
    text = (yard / "good.toml").read_text("utf-8")
    lines = [line for line in text.splitlines() if not line.startswith("start_charge_pct")]
    lines.insert(lines.index("[pack]") + 1, "start_charge_pct = 5")
    (yard / "empty.toml").write_text("\n".join(lines))
    code, out, _ = here("hazard", "empty.toml", "--json")
    assert code == 3
    document = json.loads(out)
    assert document["verdict"] == "INCOMPLETE"
    assert document["emission"]["fault_W"] is None
    assert document["emission"]["bound_W"] > 1
