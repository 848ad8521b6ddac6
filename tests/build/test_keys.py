"""The table of keys: one place for name, unit, range, default, source and meaning."""

import dataclasses
import math

import pytest

from diodewright.build import KEYS, Key, keys_as_markdown, load, rules_as_markdown
from diodewright.build.keys import ByWord, Computed
from diodewright.build.model import SECTIONS
from diodewright.build.names import SECTION_WORDS, WORDS
from diodewright.build.units import UNITS, convert, split

# plain numbers; everything else must end in its unit
DIMENSIONLESS = {
    "calibration.current_gain",
    "calibration.ntc_beta_gain",
    "calibration.output_gain",
    "calibration.pack_gain",
    "pack.cold_factor",
    "sensors.output_divider",
    "sensors.pack_divider",
}
DIMENSIONLESS |= {"limits.trim_gain"}
PREFIXES = {"n": 1e-9, "u": 1e-6, "m": 1e-3, "k": 1e3, "M": 1e6, "p": 1e-12, "c": 1e-2}
# suffixes that are a prefix and another suffix
SCALED = [
    suffix
    for suffix, unit in UNITS.items()
    if unit.factor and suffix[0] in PREFIXES and suffix[1:] in UNITS and suffix != "pct"
]


@pytest.mark.parametrize("key", KEYS, ids=lambda key: key.path)
def test_every_row_is_complete(key: Key) -> None:
    assert key.meaning
    if key.kind == "number":
        assert (key.unit == "") is (key.path in DIMENSIONLESS)
        assert key.low < key.high
    if key.kind == "points":
        for low, high in key.columns:
            assert low < high
    if key.kind == "choice":
        assert key.choices
        assert key.required
    for value, reason in key.refused:
        assert reason
        assert value in key.choices or value is False


@pytest.mark.parametrize("key", [k for k in KEYS if not k.required], ids=lambda key: key.path)
def test_every_default_is_in_range_and_has_a_source(key: Key) -> None:
    if isinstance(key.default, ByWord):
        (decider,) = [k for k in KEYS if k.path == f"{key.section}.{key.default.decider}"]
        assert KEYS.index(decider) < KEYS.index(key)
        assert set(key.default.rows) == set(decider.choices)
        defaults = list(key.default.rows.values())
        assert not key.source
    else:
        defaults = [(key.default, key.source)]
    for default, source in defaults:
        if isinstance(default, Computed):
            (need,) = default.needs
            (giver,) = [each for each in KEYS if each.section == key.section and each.name == need]
            assert KEYS.index(giver) < KEYS.index(key)
            for given in (giver.low, giver.high):
                assert key.low <= default.rule(given) <= key.high
        elif isinstance(default, (int, float)) and not isinstance(default, bool):
            assert key.low <= default <= key.high
        if key.kind == "number" and default is not None:
            assert source


def test_a_deciding_key_stands_before_those_it_decides_about() -> None:
    paths = [key.path for key in KEYS]
    for key in KEYS:
        if key.when:
            assert paths.index(key.when[0]) < paths.index(key.path)
            decider = KEYS[paths.index(key.when[0])]
            assert set(key.when[1]) <= set(decider.choices)


def test_every_field_of_every_section_has_a_row() -> None:
    fields = sum(len(dataclasses.fields(of)) for of in SECTIONS.values())
    assert fields == len(KEYS) == len({key.path for key in KEYS})


def test_words_of_other_trades_lead_to_keys_that_exist() -> None:
    paths = {key.path for key in KEYS} | {"levels.full_A"}
    assert set(WORDS.values()) <= paths
    assert set(SECTION_WORDS.values()) <= set(SECTIONS)


@pytest.mark.parametrize("suffix", SCALED)
def test_factors_are_those_of_the_si_prefixes(suffix: str) -> None:
    # SI Brochure (BIPM, 9th edition), table 7
    base = UNITS[suffix[1:]]
    assert base.quantity == UNITS[suffix].quantity
    assert UNITS[suffix].factor / base.factor == pytest.approx(PREFIXES[suffix[0]])


@pytest.mark.parametrize(
    ("name", "stem", "suffix"),
    [
        ("junction_mount_K_W", "junction_mount", "K_W"),
        ("forward_points_A_V", "forward_points", "A_V"),
        ("threshold_T0_K", "threshold_T0", "K"),
        ("a_tempco_pct_K", "a_tempco", "pct_K"),
        ("auto_off_s", "auto_off", "s"),
        ("case", "case", None),
        ("A", "A", None),
        ("mount_ntc", "mount_ntc", None),
    ],
)
def test_the_longest_suffix_is_the_unit(name: str, stem: str, suffix: str | None) -> None:
    found = split(name)
    assert found[0] == stem
    assert (found[1].suffix if found[1] else None) == suffix


def test_temperatures_are_never_converted_by_a_factor() -> None:
    assert convert(333, UNITS["K"], UNITS["degC"]) is None
    assert convert(1, UNITS["A"], UNITS["V"]) is None
    assert convert(3600, UNITS["s"], UNITS["h"]) == 1


def test_the_documentation_names_every_key_and_rule() -> None:
    text = keys_as_markdown()
    for key in KEYS:
        assert f"| `{'<name>_A' if key.kind == 'levels' else key.name}` |" in text
        if key.source:
            assert key.source in text
        if isinstance(key.default, ByWord):
            assert all(source in text for _, source in key.default.rows.values())
    assert text.count("\n### `[") == len(SECTIONS) - 1
    assert "| rearm_recovery |" in rules_as_markdown()


def test_the_default_monitor_leaves_room_above_the_examples_trip() -> None:
    build = load("smoke_tunnel")
    top_V = build.comparator.trip_max_A * build.sensors.monitor_gain_V_A
    assert top_V <= 0.95 * build.sensors.reference_V
    assert math.isclose(build.sensors.reference_V / build.sensors.monitor_gain_V_A, 2.0)


def test_enough_units_are_checked_against_the_si_prefixes() -> None:
    assert len(SCALED) >= 30
