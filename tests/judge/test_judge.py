"""Judging is pure: quantities and limits in, findings out; what is absent never holds."""

import dataclasses
import math

import pytest

from diodewright.derive import Criterion
from diodewright.faults import by_id
from diodewright.judge import judge, judge_case

CEILING = Criterion("top", "peak_current_A", "at_most", 2.0, "A", ("use", "fault"), "m", "mend")
FLOOR = Criterion("light", "light_W", "at_least", 0.5, "W", ("use",), "m", "mend")


@pytest.mark.parametrize(
    ("value", "status", "margin"),
    [(1.0, "holds", 0.5), (2.0, "holds", 0.0), (2.001, "fails", -0.0005), (4.0, "fails", -1.0)],
)
def test_ceiling(value: float, status: str, margin: float) -> None:
    (finding,) = judge([CEILING], {"peak_current_A": value}, "fault")
    assert (finding.status, finding.margin) == (status, pytest.approx(margin))
    assert finding.mend == ("" if status == "holds" else "mend")


@pytest.mark.parametrize(("value", "status"), [(0.5, "holds"), (0.499, "fails")])
def test_floor(value: float, status: str) -> None:
    (finding,) = judge([FLOOR], {"light_W": value}, "use")
    assert finding.status == status


@pytest.mark.parametrize("values", [{}, {"peak_current_A": math.nan}])
def test_absent_or_not_a_number_is_not_judged_never_holds(values: dict[str, float]) -> None:
    (finding,) = judge([CEILING], values, "use")
    assert finding.status == "not judged"
    assert finding.margin is None


def test_a_criterion_is_judged_only_in_its_scope() -> None:
    assert judge([FLOOR], {"light_W": 0.0}, "fault") == ()


VALUES = {
    "peak_current_A": 1.0,
    "peak_junction_degC": 50.0,
    "peak_light_W": 0.4,
    "last_lit_s": 0.004,
    "lit_at_end": 0.0,
    "drive_A": 0.0,
    "healthy_drive_A": 1.5,
    "healthy_lit": 1.0,
    "again_ms": 0.0,
    "lit_before": 1.0,
    "trip_A": 1.6,
    "level_A": 1.5,
    "mount_over_K": -10.0,
}


def _case(
    name: str,
    cause: str | None = None,
    law_lit: bool = False,
    off_ms: int | None = None,
    **changes: float,
):
    values = VALUES | changes
    findings = judge([CEILING], values, "fault")
    return judge_case(by_id(name), "steady", off_ms, findings, values, cause, law_lit)


def test_dark_in_time_survives_and_names_who_acted() -> None:
    case = _case("diode-short", cause="short")
    assert case.survives
    assert case.reaction == "law: short"
    assert case.time_to_dark_ms == pytest.approx(4.0)


def test_dark_too_late_does_not_survive() -> None:
    case = _case("diode-short", cause="short", last_lit_s=0.011)
    assert not case.survives
    assert case.why == "dark after 11.0 ms, allowed 10 ms"


def test_still_lit_does_not_survive_where_dark_was_expected() -> None:
    case = _case("diode-short", lit_at_end=1.0, drive_A=1.5)
    assert not case.survives
    assert case.time_to_dark_ms is None
    assert case.why == "expected dark, still lit"


def test_a_broken_limit_never_survives_however_fast_it_went_dark() -> None:
    case = _case("diode-short", cause="short", peak_current_A=2.1)
    assert not case.survives
    assert "got 2.1 A, limit 2 A" in case.why


def test_heat_that_reaches_the_mount_unseen_does_not_survive() -> None:
    case = _case("air-blocked", lit_at_end=1.0, mount_over_K=0.4)
    assert not case.survives
    assert "0.4 K above its trip" in case.why
    assert _case("air-blocked", lit_at_end=1.0, mount_over_K=-0.1).survives


@pytest.mark.parametrize(
    ("cause", "law_lit", "reaction"),
    [
        ("latch", False, "hardware: comparator latch"),
        (None, True, "hardware: the dynamic enable dropped"),
        (None, False, "controls"),
        ("sensor", False, "law: sensor"),
    ],
)
def test_who_acted(cause: str | None, law_lit: bool, reaction: str) -> None:
    assert _case("ticks-dead", cause=cause, law_lit=law_lit).reaction == reaction


@pytest.mark.parametrize(
    ("verdict", "given"),
    [
        ("law", {"name": "diode-short", "cause": "short"}),
        ("law", {"name": "diode-aged", "lit_at_end": 1.0, "drive_A": 1.4}),
        ("hardware", {"name": "stage-full-on", "cause": "latch", "last_lit_s": 0.0}),
        ("harmless", {"name": "diode-aged", "lit_at_end": 1.0, "drive_A": 1.5}),
        ("harmless", {"name": "diode-short", "healthy_lit": 0.0, "last_lit_s": -1.0}),
        ("missed", {"name": "diode-short", "lit_at_end": 1.0, "drive_A": 1.5}),
        ("missed", {"name": "diode-aged", "cause": "follow", "lit_at_end": 1.0, "drive_A": 1.5}),
        ("damaged", {"name": "diode-short", "cause": "short", "peak_current_A": 2.1}),
    ],
)
def test_each_verdict_has_its_reason(verdict: str, given: dict) -> None:
    case = _case(**given)
    assert case.verdict == verdict
    assert case.survives == (verdict not in ("missed", "damaged"))


def test_a_dead_guard_that_nobody_saw_is_latent_not_harmless() -> None:
    guard = dataclasses.replace(by_id("overcurrent-dead"), guard="latent")
    values = VALUES | {"lit_at_end": 1.0, "drive_A": 1.5}
    findings = judge([CEILING], values, "fault")
    assert judge_case(guard, "steady", None, findings, values, None, True).verdict == "latent"


def test_a_fault_that_mended_itself_must_be_seen_only_where_it_lasted_long_enough() -> None:
    lit = {"lit_at_end": 1.0, "drive_A": 1.5}
    assert _case("diode-short", off_ms=5, **lit).survives, "allowed 10 ms"
    assert not _case("diode-short", off_ms=50, **lit).survives
    assert _case("diode-short", off_ms=50, again_ms=60.0, **lit).survives, "over before light"
    assert _case("connector-bounce", again_ms=60.0, **lit).survives
    assert not _case("connector-bounce", **lit).survives


def test_on_its_way_up_a_fault_has_until_the_light_is_at_its_level() -> None:
    late = {"cause": "short", "last_lit_s": 0.3}
    assert not _case("diode-short", **late).survives
    assert _case("diode-short", again_ms=300.0, **late).survives


def test_hardware_must_be_quick_only_where_there_is_current_for_it_to_see() -> None:
    slow = {"cause": "follow", "last_lit_s": 0.032}
    assert not _case("stage-full-on", peak_current_A=1.7, **slow).survives
    assert _case("stage-full-on", peak_current_A=1.59, **slow).survives
    assert not _case("diode-short", peak_current_A=1.0, **slow).survives, "the law has no excuse"


def test_hardware_need_not_see_what_a_held_back_light_does_not_show() -> None:
    lit = {"lit_at_end": 1.0, "drive_A": 1.0}
    assert not _case("overcurrent-low", **lit).survives
    assert _case("overcurrent-low", healthy_drive_A=1.0, **lit).survives
    assert not _case("diode-short", healthy_drive_A=1.0, **lit).survives, "the law must see it"


def test_a_light_that_a_fault_keeps_from_coming_was_put_out_by_nobody() -> None:
    unlit = {"lit_before": 0.0, "last_lit_s": -1.0}
    case = _case("ticks-dead", again_ms=6500.0, **unlit)
    assert (case.reaction, case.verdict) == ("none: never lit", "harmless")


def test_a_case_judged_on_nothing_does_not_survive() -> None:
    blind = dataclasses.replace(CEILING, column="never_tallied")
    case = judge_case(
        by_id("diode-short"),
        "steady",
        None,
        judge([blind], VALUES, "fault"),
        VALUES,
        "short",
        False,
    )
    assert not case.survives
