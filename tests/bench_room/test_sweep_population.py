"""A thousand hidden diodes: none is damaged that gives a warning, and the rest are counted apart.

`weak_diodes.draw` states the population; its numbers are ours. Where a roll-over begins is our
definition too (two thirds of the highest slope): no standard was read for it.
"""

import pytest
from weak_diodes import GAP, Bench, draw, population, swept

from diodewright.bench import sweep
from diodewright.bench.sweep_plan import planned
from diodewright.build import load

LAMP = load("smoke_tunnel")
PLAN = planned(LAMP)
THOUSAND = range(1, 1001)


def test_none_of_a_thousand_diodes_that_warn_is_damaged(
    capsys: pytest.CaptureFixture[str],
) -> None:
    found = population(LAMP, PLAN, THOUSAND)
    with capsys.disabled():
        ends = {kind: found[kind] for kind in sweep.STOPS if found[kind]}
        print(f"\n1000 diodes, seeds 1 to 1000, gap {GAP:.0%} or more: {ends}")
    assert found["damaged"] == 0
    assert found["beyond the class"] == 0
    # it was tried: each kind of diode, each way to end, and most ended by a sign of their own
    assert min(found[f"of kind {kind}"] for kind in ("heat", "knee", "step", "none")) > 80
    assert found["roll-over"] > 200 and found["kink"] > 200 and found["bound"] > 50


def test_diodes_that_die_without_a_sign_are_damaged_and_counted(
    capsys: pytest.CaptureFixture[str],
) -> None:
    found = population(LAMP, PLAN, range(1, 201), sudden=True)
    with capsys.disabled():
        print(f"\n200 diodes without a sign: {found['damaged']} damaged, as told beforehand")
    assert found["damaged"] > 100
    assert found["beyond the class"] == 0


def test_without_the_rules_most_of_them_are_damaged(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sweep, "RULES", ())
    found = population(LAMP, PLAN, range(1, 101))
    assert found["damaged"] > 50
    assert found["beyond the class"] == 0


@pytest.mark.parametrize(
    ("ills", "kind", "least"),
    [
        ({"noise": 0.01}, "kink", 10),
        ({"noise": 0.05}, "noise", 50),
        ({"unit": 1000.0}, "unit", 80),
        ({"lag_s": 2.0}, "lag", 100),
    ],
)
def test_a_bad_meter_damages_none(ills: dict[str, float], kind: str, least: int) -> None:
    found = population(LAMP, PLAN, range(1, 101), **ills)
    assert found["damaged"] == 0
    assert found[kind] >= least


def test_a_meter_that_shows_next_to_nothing_ends_it_where_the_class_has_light() -> None:
    for seed in range(1, 101):
        bench = Bench(LAMP, draw(LAMP, seed), seed)
        bench.unit = 0.001
        _, stop = swept(bench, PLAN)
        assert stop.kind == "no light"
        # up to there it is blind, and can save nobody: 1.8 of the class's threshold
        assert bench.highest_A < 1.06 * PLAN.dark_most_A < 0.48


def test_what_a_plan_says_it_sees_is_so_and_no_more() -> None:
    wide = planned(LAMP, fine=0.08)
    seen = population(LAMP, wide, range(1, 151), least_gap=wide.sees_from)
    tight = population(LAMP, wide, range(1, 151))
    assert 0.30 < wide.sees_from < 0.33
    assert seen["damaged"] == 0
    assert tight["damaged"] > 3


@pytest.mark.by_hand
def test_none_of_ten_thousand_is_damaged() -> None:
    found = population(LAMP, PLAN, range(1001, 11_001))
    assert found["damaged"] == 0 and found["beyond the class"] == 0
