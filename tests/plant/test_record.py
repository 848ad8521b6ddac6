"""Records: two forms, one flat index, checked values."""

import math
from collections.abc import Callable
from typing import Any

import pytest

from diodewright.plant import factors, record
from diodewright.plant.params import FACTORS, PARAM_RECORD, PARAMS, STATE, Row, index_of
from diodewright.plant.record import RecordError

UNITS = {
    "V", "A", "W", "J", "C", "ohm", "s", "H", "F", "Hz", "K", "degC", "S",
    "K/W", "J/K", "W/K", "K/J", "W/A", "V/K", "A/V", "V/V", "1/K", "1/A", "1/C", "Ah", "LSB",
}  # fmt: skip
#: Names of curve fits and counts that a unit's letters would only blur.
BARE = {"ntc_sh_A", "ntc_sh_B", "ntc_sh_C", "soc_per_C"}


@pytest.mark.parametrize("compiled", [True, False])
def test_the_flat_view_and_the_record_are_one_memory(compiled: bool) -> None:
    made = record.make(STATE, {"duty": 0.25}, compiled=compiled)
    place = index_of(STATE)["duty"]
    assert made.flat[place] == made.record.duty == 0.25
    made.flat[place] = 0.5
    assert made.record.duty == 0.5
    made.record.duty = 0.75
    assert made.flat[place] == 0.75


def test_both_forms_hold_the_same_values_at_the_same_places() -> None:
    values = {row.name: row.low for row in PARAMS if row.start is None and row.count == 1}
    curve = [k / 12 for k in range(13)]
    values |= {"ocv_soc": curve, "ocv_V": [3 + v for v in curve]}  # type: ignore[dict-item]
    forms = [record.make(PARAM_RECORD, values, compiled=c) for c in (True, False)]
    assert [float(v) for v in forms[0].flat] == [float(v) for v in forms[1].flat]  # type: ignore[attr-defined]
    assert len(forms[0].flat) == len(forms[1].flat) == sum(row.count for row in PARAM_RECORD)


@pytest.mark.parametrize("compiled", [True, False])
def test_a_curve_is_reached_point_by_point(compiled: bool, rig: Callable[..., Any]) -> None:
    place = index_of(PARAM_RECORD)["ocv_V"]
    source = rig().params
    names = [row.name for row in PARAMS]
    given = {name: getattr(source.record, name) for name in names}
    made = record.make(PARAM_RECORD, given, compiled=compiled)
    assert made.flat[place + 12] == made.record.ocv_V[12] == 4.2
    made.flat[place + 12] = 4.1
    assert made.record.ocv_V[12] == 4.1


@pytest.mark.parametrize("compiled", [True, False])
def test_a_copy_stands_by_itself(compiled: bool) -> None:
    made = record.make(STATE, {"soc": 0.5}, compiled=compiled)
    snapshot = record.copy(made)
    made.record.soc = 0.1
    assert snapshot.record.soc == 0.5
    assert snapshot.compiled is compiled


def test_a_misspelt_name_is_refused_with_the_nearest() -> None:
    with pytest.raises(RecordError, match="dutty: no such value; duty\\?"):
        record.make(STATE, {"dutty": 1})


def test_a_value_outside_its_range_is_refused_with_the_range() -> None:
    with pytest.raises(RecordError, match=r"duty = 1.5 : allowed 0 to 1"):
        record.make(STATE, {"duty": 1.5})
    with pytest.raises(RecordError, match="soc = nan"):
        record.make(STATE, {"soc": math.nan})


def test_a_missing_value_half_a_flag_and_a_short_curve_are_refused() -> None:
    with pytest.raises(RecordError, match="cell_capacity_Ah: a value is wanted"):
        record.make(PARAM_RECORD, {})
    with pytest.raises(RecordError, match=r"latch = 0\.5: a whole number"):
        record.make(STATE, {"latch": 0.5})
    curve = Row("curve", "V", "a curve", 0, 5, None, 3, rising=True)
    with pytest.raises(RecordError, match="2 values, 3 wanted"):
        record.make((curve,), {"curve": [1, 2]})
    with pytest.raises(RecordError, match="must rise"):
        record.make((curve,), {"curve": [1, 2, 2]})


def test_a_characteristic_temperature_near_zero_is_refused() -> None:
    row = next(row for row in PARAMS if row.name == "threshold_T0_K")
    with pytest.raises(RecordError, match="too near 0"):
        record.make((row,), {"threshold_T0_K": -0.5})
    assert record.make((row,), {"threshold_T0_K": -170}).flat[0] == -170


def test_names_are_unique_and_end_in_their_units() -> None:
    for table in (PARAM_RECORD, STATE):
        assert len({row.name for row in table}) == len(table)
    for row in PARAM_RECORD + STATE:
        if row.unit in ("", "flag", "code") or row.name in BARE:
            continue
        assert row.unit in UNITS, row
        ending = {"LSB": "lsb"}.get(row.unit, row.unit).replace("/", "_")
        assert row.name.endswith(f"_{ending}"), row


def test_every_start_lies_in_its_range() -> None:
    for row in PARAM_RECORD + STATE:
        assert row.low < row.high and row.meaning
        assert row.start is None or row.low <= row.start <= row.high, row


def test_prepare_fills_in_every_factor(rig: Callable[..., Any]) -> None:
    made = rig()
    for row in FACTORS:
        if row.count == 1:
            setattr(made.p, row.name, math.nan)
    factors.prepare(made.p, 0.00025)
    scalars = [row.name for row in FACTORS if row.count == 1]
    assert [name for name in scalars if math.isnan(getattr(made.p, name))] == []
