"""The judges' word: what fails becomes a cut, is stated, and the search goes on, a few times."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from formulas import LIGHT, looks_of

from diodewright.build import Build, load
from diodewright.rehearse import Rehearsal
from diodewright.tune.choice import Look, Row, holds
from diodewright.tune.looks import Looks
from diodewright.tune.search import ROUNDS, Effort, search, tuned
from diodewright.tune.verified import Verified, cuts_of

SMALL = Effort(crowd=6, generations=1, climbs=1)
_KEPT = Path(__file__).parents[1] / "report" / "smoke_tunnel.json"


def _verified(change: Callable[[dict[str, Any]], None], verdict: str = "FAILS") -> Verified:
    values = json.loads(_KEPT.read_text("utf-8"))
    change(values)
    return Verified(verdict, ("said why",), Rehearsal.from_dict(values), (3, 3))


def _fails(id: str, margin: float) -> Callable[[dict[str, Any]], None]:
    def change(values: dict[str, Any]) -> None:
        (row,) = [row for row in values["findings"] if row["id"] == id]
        row["status"], row["margin"] = "fails", margin

    return change


def _as_it_was(_: dict[str, Any]) -> None:
    """Change nothing."""


LOOK = Look(
    {"light": 1.0},
    (
        Row("use.touch", 2.0, 60.0, 58.0, 60.0, "degC"),
        Row("corner.touch", 0.5, 60.0, 59.5, 60.0, "degC"),
        Row("use.junction", 30.0, 125.0, 95.0, 125.0, "degC"),
        Row("rule.warm_hot", 4.0, 60.0),
    ),
    3,
)


def test_a_missed_limit_is_cut_where_the_search_sees_the_same_limit_and_nowhere_else() -> None:
    cuts, said = cuts_of(_verified(_fails("touch", -0.02)), LOOK, {})
    # 2 % of 60 degC were short; a quarter more is kept, beyond what the search saw left
    assert cuts == {
        "use.touch": pytest.approx(2.0 + 1.25 * 0.02 * 60),
        "corner.touch": pytest.approx(0.5 + 1.25 * 0.02 * 60),
    }
    assert all("of room kept from now on" in text for text in said)


def test_a_guard_band_of_drawn_builds_and_a_lost_case_are_cut_too() -> None:
    def change(values: dict[str, Any]) -> None:
        case = values["faults"][0]
        case["survives"] = False
        case["tightest"] |= {"id": "junction", "margin": -0.1}

    cuts, _ = cuts_of(_verified(change), LOOK, {})
    assert cuts == {"use.junction": pytest.approx(30.0 + 1.25 * 0.1 * 125)}


def test_where_the_search_does_not_see_what_failed_nothing_is_cut() -> None:
    assert cuts_of(_verified(_as_it_was), LOOK, {"use.touch": 1.0}) == ({"use.touch": 1.0}, [])


@pytest.mark.parametrize("verdict", ["FAILS", "INCOMPLETE"])
def test_only_judges_that_were_all_heard_let_a_result_pass(verdict: str) -> None:
    assert not _verified(_as_it_was, verdict).holds
    assert _verified(_as_it_was, "HOLDS").holds
    done = _verified(_as_it_was, "HOLDS")
    assert not Verified("HOLDS", (), done.rehearsal, (2, 3)).holds


def _touching() -> Looks:
    """Return light = x with a sink of 20 + x degC that may be 60; a key that a build has."""
    return looks_of(
        {"light": lambda c: c[0]},
        [("use.touch", 2, lambda c: 40.0 - c[0])],
        (10.0,),
        high=100.0,
        paths=("limits.pack_rest_s",),
        scale=60.0,
    )


def _rest_s(build: Build) -> float:
    """Return the key that is tuned; a build that leaves it out is the one at the start."""
    return 10.0 if build.limits.pack_rest_s is None else build.limits.pack_rest_s


def _tuned(judge: Callable[[Build], Verified]) -> tuple[Any, list[float]]:
    looks, seen = _touching(), []

    def heard(build: Build) -> Verified:
        seen.append(_rest_s(build))
        return judge(build)

    found = search(looks, LIGHT, 1, SMALL)
    return tuned(load("smoke_tunnel"), looks, found, LIGHT, heard, SMALL), seen


def test_the_search_goes_on_from_what_the_judges_cut_until_they_let_it_pass() -> None:
    def judge(build: Build) -> Verified:
        short = (_rest_s(build) - 35.0) / 60
        if short <= 0:
            return _verified(_as_it_was, "HOLDS")
        return _verified(_fails("touch", -short))

    done, seen = _tuned(judge)
    assert done.holds
    assert seen[0] == pytest.approx(40.0, abs=0.01)
    assert seen[-1] <= 35.0
    assert done.found.look.figures["light"] == pytest.approx(33.75, abs=0.1)  # 40 - 1.25 * 5
    assert [reasons for reasons, _ in done.rounds] == [("said why",)]


def test_where_what_failed_is_not_seen_half_of_the_change_is_taken_back_and_judged() -> None:
    """The start is at 10, the search's best at 40; the judges bear 20 and don't say why."""

    def judge(build: Build) -> Verified:
        return _verified(_as_it_was, "HOLDS" if _rest_s(build) <= 20 else "FAILS")

    done, seen = _tuned(judge)
    assert done.holds
    assert seen == pytest.approx([40.0, 25.0, 17.5], abs=0.01)
    assert done.rounds[0][1] == ("none of the search's limits: half of every change taken back",)


def test_judges_that_let_nothing_new_pass_leave_the_settings_as_they_were() -> None:
    def judge(build: Build) -> Verified:
        as_it_was = _rest_s(build) == 10.0
        change = _as_it_was if as_it_was else _fails("touch", -0.001)
        return _verified(change, "HOLDS" if as_it_was else "FAILS")

    done, seen = _tuned(judge)
    assert done.holds and not done.moved
    assert len(seen) == ROUNDS + 2 and seen[-1] == 10.0
    assert done.rounds[-1] == (("said why",), ("back to the settings as they were",))


def test_judges_that_are_against_the_settings_as_they_were_too_end_with_their_reasons() -> None:
    done, seen = _tuned(lambda _: _verified(_fails("touch", -0.001)))
    assert not done.holds
    assert len(seen) == ROUNDS + 2
    assert done.verified.reasons == ("said why",)
    assert done.found.at == done.found.start
    assert holds(done.found.look, LIGHT)


def test_what_misses_a_limit_that_the_search_sees_is_not_even_judged() -> None:
    looks = looks_of({"light": lambda c: c[0]}, [("never", 2, lambda c: -1.0)], (1.0,))
    found = search(looks, LIGHT, 1, SMALL)

    def judge(_: Build) -> Verified:
        raise AssertionError("nobody to be heard")

    done = tuned(load("smoke_tunnel"), looks, found, LIGHT, judge, SMALL)
    assert not done.holds
    assert [row.id for row in done.missing] == ["never"]
