"""How much room each rule leaves: with the rule's own word, and of settings that it refuses."""

import pytest

from diodewright.build import BuildErrors, examples, load, rule_rooms, with_values
from diodewright.build.model import value_of

_TEMPERATURES = ("mount_warm_degC", "mount_hot_degC", "mount_trip_degC")


def _rooms(name: str, **values: float) -> dict[str, float]:
    given = {f"limits.{key}": value for key, value in values.items()}
    return {row.rule: row.room for row in rule_rooms(load(name), given)}


@pytest.mark.parametrize("name", examples())
def test_every_rule_of_a_shipped_build_has_room_and_says_so_itself(name: str) -> None:
    build = load(name)
    limits = {f"limits.{key}": value_of(build, f"limits.{key}") for key in _TEMPERATURES}
    rows = rule_rooms(build, limits)
    assert {row.rule for row in rows} >= {"warm_hot", "hot_trip", "ambient_cool", "junction_trip"}
    assert all(row.holds and row.room >= 0 and row.scale > 0 for row in rows)


def test_a_room_is_the_distance_of_the_two_sides() -> None:
    rooms = _rooms("smoke_tunnel", mount_warm_degC=50.0, mount_hot_degC=56.0)
    assert rooms["warm_hot"] == pytest.approx(6.0)
    assert rooms["hot_trip"] == pytest.approx(4.0)
    assert rooms["ambient_cool"] == pytest.approx(50.0 - 35.0)


def test_what_the_build_refuses_has_a_negative_room_by_how_much_it_misses() -> None:
    with pytest.raises(BuildErrors):
        with_values(load("smoke_tunnel"), {"limits.mount_warm_degC": 58.0})
    rooms = _rooms("smoke_tunnel", mount_warm_degC=58.0)
    assert rooms["warm_hot"] == pytest.approx(56.0 - 58.0)


def test_a_rule_that_asks_for_less_has_no_room_at_its_limit() -> None:
    rooms = _rooms("smoke_tunnel", mount_warm_degC=56.0)
    assert -1e-4 < rooms["warm_hot"] < 0.0


def test_a_rule_that_allows_its_limit_has_just_none_left_there() -> None:
    assert _rooms("smoke_tunnel", pack_lockout_V=6.5)["lockout_end"] == 0.0


def test_rules_that_no_given_key_can_move_are_left_out() -> None:
    rooms = _rooms("smoke_tunnel", mount_warm_degC=50.0)
    assert "warm_hot" in rooms
    assert "hot_trip" not in rooms
    assert "cutback_band" not in rooms


def test_a_level_moves_the_rules_on_the_highest_level() -> None:
    rows = {row.rule: row for row in rule_rooms(load("smoke_tunnel"), {"levels.full_A": 1.62})}
    assert rows["rating"].room == pytest.approx(1.6 - 1.62)
    assert not rows["rating"].holds
