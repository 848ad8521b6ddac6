"""The size summary as it is read: limits first, every figure, no line too long, nothing missing."""

import json
from collections.abc import Callable
from typing import Any

import pytest

from diodewright.build import examples, load
from diodewright.report import screen
from diodewright.report.wording import label, prose
from diodewright.size import cold_to_hot, descend, marked, size, told

Shown = Callable[..., str]


@pytest.fixture
def shown(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Shown:
    """Return a function that gives what `size` prints of an example."""

    def show(name: str, columns: int = 80, as_json: bool = False) -> str:
        monkeypatch.setenv("COLUMNS", str(columns))
        screen.show_size(load(name), as_json)
        out, err = capsys.readouterr()
        assert err == ""
        return out

    return show


def _starts(text: str, names: list[str]) -> list[int]:
    """Return the lines that begin with each name, looked for in order."""
    lines, found, at = text.splitlines(), list[int](), 0
    for name in names:
        at = next(i for i in range(at, len(lines)) if lines[i].startswith(name + "  "))
        found.append(at)
        at += 1
    return found


@pytest.mark.parametrize("name", examples())
def test_a_page_of_eighty_columns_has_limits_first_and_every_figure(
    shown: Shown, name: str
) -> None:
    text, build = shown(name), load(name)
    wide = [line for line in text.splitlines() if len(line.rstrip()) > 80]
    assert all(line.strip().startswith("diodewright ") for line in wide)
    rows = [label(each.row.id) for each in marked(build)]
    figures = [label(figure.id) for figure in size(build)]
    found = _starts(text, rows + figures)
    assert found[0] <= 4 and found == sorted(found)
    flat = " ".join(text.split())
    for figure in size(build):
        assert prose(figure.leaves_out) in flat


def test_a_figure_stands_beside_its_point_and_a_mark_of_what_it_leaves_out(shown: Shown) -> None:
    lines = shown("smoke_tunnel", 120).splitlines()
    for figure in size(load("smoke_tunnel")):
        start = label(figure.id) + "  "
        row = [line for line in lines if line.startswith(start) and prose(figure.meaning) in line]
        assert row, figure
        assert row[0].rstrip().endswith("]") is bool(figure.leaves_out)


def test_a_close_limit_is_said_in_words_and_names_what_buys_most(shown: Shown) -> None:
    text = shown("smoke_tunnel", 120)
    flat = " ".join(text.split())
    for each in marked(load("smoke_tunnel")):
        said = f"{label(each.row.id)}: {prose(each.row.meaning)}"
        assert (said in flat) is (each.row.margin < 0.1)
        (line,) = [
            line
            for line in text.splitlines()[2:20]
            if line.startswith(label(each.row.id) + "  ") and " at " in line
        ]
        assert not each.buys or each.buys[0].step in line


def test_a_value_beyond_its_limit_is_told_so_and_a_close_one_not_rounded_onto_it() -> None:
    from diodewright.report.screen_size import _apart, _margin
    from diodewright.size import Limit

    near = Limit("touch_degC", 59.9996, 60.0, "at_most", "degC", "")
    assert _apart(near)[0] != "60 °C"
    assert _margin(-0.13) == "13.0 % beyond"
    assert _margin(0.0146) == "1.46 %"


def test_the_tables_are_the_rows_of_the_document(shown: Shown) -> None:
    build = load("cave_lamp")
    text, document = shown("cave_lamp"), json.loads(shown("cave_lamp", as_json=True))
    down = descend(build)
    assert down is not None
    head = text.splitlines().index(next(x for x in text.splitlines() if x.startswith("charge %")))
    printed = text.splitlines()[head + 1 : head + 1 + len(told(down))]
    assert [line.split()[0] for line in printed] == [f"{row.charge_pct:g}" for row in told(down)]
    assert (told(down)[0], told(down)[-1]) == (down.rows[0], down.rows[-1])
    assert len(told(down)) < 15
    assert len(document["discharge"]["rows"]) == len(down.rows)
    assert [row["mount_degC"] for row in document["cold_to_hot"]] == [
        row.mount_degC for row in cold_to_hot(build)
    ]


DISCHARGE = {
    *("charge_pct", "pack_V", "pack_A", "headroom_V", "diode_A", "light_W", "light_lm", "light_s"),
}
MOUNT = {
    *("mount_degC", "current_A", "forward_V", "light_W", "light_lm", "heat_W", "junction_degC"),
}
LIMIT = {"id", "value", "limit", "sense", "unit", "meaning", "margin", "buys"}


@pytest.mark.parametrize("name", examples())
def test_the_document_keeps_its_keys(shown: Shown, name: str) -> None:
    document: dict[str, Any] = json.loads(shown(name, as_json=True))
    assert document["format"] == 1
    assert [row["id"] for row in document["size"]] == [figure.id for figure in size(load(name))]
    assert set(document["size"][0]) == {"id", "value", "unit", "meaning", "leaves_out"}
    of_topics = [each for of in document["topics"].values() for each in of]
    assert of_topics == [row["id"] for row in document["size"]]
    assert len(document["assumed"]) == len(load(name).assumed)
    assert all(set(row) == LIMIT for row in document["limits"])
    assert all(set(row) == MOUNT for row in document["cold_to_hot"])
    chosen_A = document["over_current"]["chosen_A"]
    assert any(row["current_A"] == chosen_A for row in document["over_current"]["rows"])
    if name == "smoke_tunnel_bench":
        assert document["discharge"] is None
    else:
        assert all(set(row) == DISCHARGE for row in document["discharge"]["rows"])
    assert bool(document["life"]["rows"]) is (name != "smoke_tunnel_dummy")


def test_a_dummy_has_no_columns_of_light_and_a_bench_supply_no_discharge(shown: Shown) -> None:
    dummy, bench = shown("smoke_tunnel_dummy"), shown("smoke_tunnel_bench")
    heads = [line for line in dummy.splitlines() if line.startswith(("charge %", "mount °C"))]
    assert len(heads) == 2 and not any("light W" in head or " lm" in head for head in heads)
    assert "Life" not in dummy and "Discharge" not in bench
