"""The word tables and the law's constants are one thing."""

import re
from pathlib import Path

import pytest

from desk import SETTINGS
from diodedriver import law, words

TABLES = {"C": words.RAW, "R": words.READINGS, "L": words.LIMITS, "S": words.STATE}
TEXT = Path(law.__file__).read_text(encoding="utf-8")


@pytest.mark.parametrize("prefix", TABLES)
def test_every_index_in_the_law_is_its_word_place(prefix: str) -> None:
    found = re.findall(rf"^_{prefix}_([A-Z0-9_]+) = const\((\d+)\)", TEXT, re.MULTILINE)
    places = {row[0].upper(): i for i, row in enumerate(TABLES[prefix])}
    assert found
    assert {name: int(value) for name, value in found} == {name: places[name] for name, _ in found}


def test_sizes_rows_modes_and_rule_masks_agree() -> None:
    assert len(words.STATE) == law._STATE
    assert len(words.READINGS) == law._READINGS
    assert len(words.LIMITS) == law._LIMITS
    assert law._ROWS == words.ROWS == len(words.FAULTS)
    assert (1 << words.ROWS) - 1 == law._ALL_ROWS
    assert words.TRIM_BIAS == law._TRIM_BIAS
    assert words.ONES == law._ONES
    for i, (name, *_) in enumerate(words.FAULTS):
        assert getattr(law, f"_F_{name.upper()}") == i
    for i, (name, _) in enumerate(words.MODES):
        assert getattr(law, f"_{name.upper()}") == i
    for rule in ("release", "interlock", "rest"):
        mask = sum(1 << i for i, row in enumerate(words.FAULTS) if row[1] == rule)
        assert getattr(law, f"_BY_{rule.upper()}") == mask
    for i, pin in enumerate(("trigger", "key", "interlock", "latch", "bad")):
        assert getattr(law, f"_PIN_{pin.upper()}") == 1 << i


def test_every_rule_evidence_and_order_names_a_word() -> None:
    readings = {row[0] for row in words.READINGS}
    limits = {row[0] for row in words.SETTINGS} | {"ceiling"}
    for _, rule, evidence, limit, _ in words.FAULTS:
        assert rule in {name for name, _ in words.RULES}
        assert evidence in readings
        assert limit in limits
    for low, high, _ in words.ORDER:
        assert {low, high} <= limits


def test_every_word_is_a_non_negative_small_integer() -> None:
    for table in TABLES.values():
        for name, _, low, high, _ in table:
            assert 0 <= low <= high <= words.ONES, name


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"trip_cK": 99999}, "trip_cK = 99999, allowed 27300..60000 cK"),
        ({"warm_cK": 33000}, "warm_cK = 33000 above hot_cK = 32915"),
        ({"count_late": 2}, "count_late = 2, allowed 1..1 tick"),
        ({"tripp_cK": 1}, "unknown word tripp_cK"),
        ({"trip_cK": 1.5}, "trip_cK = 1.5"),
    ],
)
def test_settings_that_the_prover_never_saw_are_refused(change: dict, said: str) -> None:
    with pytest.raises(ValueError, match=re.escape(said)):
        words.assemble(SETTINGS | change)


def test_a_missing_word_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="level_0_mA"):
        words.assemble({k: v for k, v in SETTINGS.items() if k != "level_0_mA"})
