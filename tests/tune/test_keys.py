"""Keys by the names that people type, their steps, and how far a build bears them."""

import pytest

from diodewright.build import load
from diodewright.build.model import key_of
from diodewright.tune import Context, TuneError, evaluate, key_named, parsed, rounded, tune_keys
from diodewright.tune.keys import key_row, safe_span, taken_span

TUNNEL = load("smoke_tunnel")


@pytest.mark.parametrize(
    ("typed", "path"),
    [
        ("mount_warm_degC", "limits.mount_warm_degC"),
        ("limits.mount_warm_degC", "limits.mount_warm_degC"),
        ("full_A", "levels.full_A"),
        ("reserve_A", "levels.reserve_A"),
        ("sink_air_K_W", "heat.sink_air_K_W"),
    ],
)
def test_a_key_is_found_with_and_without_its_section(typed: str, path: str) -> None:
    assert key_named(TUNNEL, typed) == path


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("sink_warm_degC=48", "sink_warm_degC: no such key; did you mean mount_warm_degC?"),
        ("mount_warm=48", "mount_warm: unit missing; write mount_warm_degC = 48"),
        ("limits.full_A=1", "limits.full_A: no such key"),
        ("rated_A=1", "stands in several sections: write switch.rated_A or diode.rated_A"),
        ("mount_warm_degC", "write KEY=VALUE, such as mount_warm_degC=48"),
        ("mount_warm_degC=4x", "mount_warm_degC = 4x: no value that a build file could hold"),
        ("=4", "write KEY=VALUE"),
    ],
)
def test_a_mistake_names_what_was_meant(typed: str, said: str) -> None:
    with pytest.raises(TuneError) as caught:
        parsed(TUNNEL, typed)
    assert said in str(caught.value)


@pytest.mark.parametrize("name", ["smoke_tunnel", "cave_lamp", "gel_viewer"])
def test_every_key_starts_where_the_build_is(name: str) -> None:
    build = load(name)
    rows = tune_keys(build)
    assert len({row.path for row in rows}) == len(rows)
    for row in rows:
        assert row.low <= row.start <= row.high, row
        assert rounded(row, row.start) == pytest.approx(row.start, rel=0.01), row
        assert row.path.startswith("levels.") or key_of(row.path) is not None
    has_levels = any(row.path.startswith("levels.") for row in rows)
    assert has_levels == (build.stage.kind != "gated")


def test_a_key_left_out_starts_from_what_is_derived() -> None:
    """The trim's default gain is 1/64; over-current lies half way between top level and trip."""
    starts = {row.path: row.start for row in tune_keys(TUNNEL)}
    assert starts["limits.trim_gain"] == 1 / 64
    assert starts["limits.dim_A"] == TUNNEL.levels.reserve_A
    assert starts["limits.overcurrent_A"] == pytest.approx((1.5 * 1.05 + 1.68) / 2, abs=0.001)
    assert starts["limits.fall_ms"] == pytest.approx(20, rel=0.01)


def test_values_are_rounded_as_a_file_would_carry_them() -> None:
    rows = {row.path: row for row in tune_keys(TUNNEL)}
    assert rounded(rows["levels.full_A"], 1.50049) == 1.5
    assert rounded(rows["limits.mount_warm_degC"], 46.04999) == 46.0
    assert rounded(rows["limits.mount_warm_degC"], 999) == 200
    count = rounded(rows["limits.overcurrent_count"], 3.4)
    assert count == 3 and isinstance(count, int)
    # the law shifts: a gain between two powers is the smaller one
    assert rounded(rows["limits.trim_gain"], 0.03) == 1 / 64
    assert rounded(rows["limits.trim_gain"], 1 / 32) == 1 / 32


@pytest.mark.parametrize("path", ["limits.mount_warm_degC", "limits.overcurrent_A"])
def test_beyond_the_ends_of_a_safe_span_something_cheap_gives_way(
    tunnel: Context, path: str
) -> None:
    row = key_row(TUNNEL, path)
    low, high = safe_span(tunnel, row)
    taken = taken_span(tunnel, row, {})
    assert row.low <= taken[0] <= low < row.start < high <= taken[1] <= row.high
    for end, beyond in ((low, low - 0.02 * row.start), (high, high + 0.02 * row.start)):
        assert evaluate(tunnel, {path: end}, "bands").holds
        assert not evaluate(tunnel, {path: beyond}, "bands").holds


def test_a_span_ends_at_the_rule_that_a_person_would_name(tunnel: Context) -> None:
    """Cutback begins above the warmest air (35 degC) and below where it ends (56 degC)."""
    low, high = taken_span(tunnel, key_row(TUNNEL, "limits.mount_warm_degC"), {})
    assert low == pytest.approx(35.1, abs=0.11)
    assert high == pytest.approx(55.9, abs=0.11)


def test_a_level_whose_guard_band_is_used_up_goes_no_higher(tunnel: Context) -> None:
    """At 1.5 A the highest healthy output already stands at the over-voltage trip's band."""
    row = key_row(TUNNEL, "levels.full_A")
    assert safe_span(tunnel, row)[1] == row.start
