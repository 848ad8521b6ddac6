"""Two builds: each changed key alone, and the size figures that follow from it."""

import pytest

from diodewright.build import KEYS, Build, load, load_text
from diodewright.build.source import fetch
from diodewright.compare import Move, moved_between_builds
from diodewright.size import size


def _edited(*changes: tuple[str, str]) -> Build:
    text, _ = fetch("smoke_tunnel")
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return load_text(text, "changed")


def test_a_build_has_not_moved_from_itself() -> None:
    assert moved_between_builds(load("smoke_tunnel"), load("smoke_tunnel")) == ()


def test_a_key_that_no_size_figure_needs_moves_alone() -> None:
    moves = moved_between_builds(load("smoke_tunnel"), _edited(("delay_s = 5", "delay_s = 6.5")))
    assert moves == (Move("key", "limits.delay_s", "", "both", 5.0, 6.5, 1.5, "s"),)


def test_size_figures_move_by_exactly_what_size_says() -> None:
    a, b = load("smoke_tunnel"), _edited(("capacity_Ah = 2.6", "capacity_Ah = 3"))
    figures_a = {figure.id: figure.value for figure in size(a)}
    figures_b = {figure.id: figure.value for figure in size(b)}
    moves = {move.item: move for move in moved_between_builds(a, b) if move.part == "size"}
    assert set(moves) == {name for name in figures_a if figures_a[name] != figures_b[name]}
    assert "battery_min" in moves
    for name, move in moves.items():
        assert (move.a, move.b) == (figures_a[name], figures_b[name])
        assert move.difference == pytest.approx(figures_b[name] - figures_a[name], rel=1e-9)
        assert move.unit


def test_a_default_that_follows_from_a_changed_key_is_told_as_well() -> None:
    b = _edited(("capacity_Ah = 2.6", "capacity_Ah = 3"))
    moves = {move.item for move in moved_between_builds(load("smoke_tunnel"), b)}
    assert {"pack.capacity_Ah", "pack.polarisation_mohm"} <= moves


def test_a_value_written_out_as_it_was_assumed_has_not_moved() -> None:
    rds_mohm = load("smoke_tunnel").cutoffs.a_rds_mohm
    b = _edited(("[cutoffs]", f"[cutoffs]\na_rds_mohm = {rds_mohm}"))
    assert moved_between_builds(load("smoke_tunnel"), b) == ()


def test_levels_are_compared_by_name() -> None:
    b = _edited(("\nhalf_A = 0.75", "\nmid_A = 0.8"))
    moves = [m for m in moved_between_builds(load("smoke_tunnel"), b) if m.part == "key"]
    assert [(m.item, m.where, m.a, m.b, m.unit) for m in moves] == [
        ("levels.half_A", "A", 0.75, None, "A"),
        ("levels.mid_A", "B", None, 0.8, "A"),
    ]


def test_points_move_whole_and_words_without_a_difference() -> None:
    a = load("smoke_tunnel")
    (light,) = (line for line in fetch("smoke_tunnel")[0].splitlines() if "light_points" in line)
    code = light.split("#")[0].rstrip()
    b = _edited((code, code.replace("]]", "001]]")), ('case = "isolated"', 'case = "anode"'))
    moves = {m.item: m for m in moved_between_builds(a, b) if m.part == "key"}
    assert set(moves) == {"diode.light_points_A_W", "diode.case"}
    assert all(move.difference is None for move in moves.values())


def test_every_key_of_the_table_is_compared() -> None:
    a = load("smoke_tunnel")
    bench = [row.path for row in KEYS if row.when and row.when[1] == ("bench_supply",)]
    b = _edited(
        ('kind = "cells"', 'kind = "bench_supply"\nsupply_V = 8.4\nsupply_limit_A = 3.0'),
        *(
            (line, "")
            for line in fetch("smoke_tunnel")[0].splitlines(keepends=True)
            if line.startswith(("part =", "series =", "parallel =", "capacity_Ah", "cell_res"))
        ),
    )
    moves = {m.item: m for m in moved_between_builds(a, b) if m.part == "key"}
    assert set(bench) <= set(moves)
    assert moves["pack.kind"].a == "cells"
