"""Bench against model: what agrees, what differs, and what is named as the cause."""

from dataclasses import replace

import numpy as np
import pytest
from made import SMOKE, made

from diodewright.bench import BenchError
from diodewright.bench.against import Against, against
from diodewright.bench.span import Record
from diodewright.build import load

HOW = {"until_s": 600, "rate_Hz": 5, "use": ((10, "trigger", 1), (330, "trigger", 0))}


def verdicts(found: Against) -> dict[str, str]:
    return {each.name: each.verdict for each in found.compared}


def differ(found: Against) -> set[str]:
    return {name for name, verdict in verdicts(found).items() if verdict == "differs"}


@pytest.mark.parametrize(
    ("name", "hidden"),
    [("smoke_tunnel", {}), ("smoke_tunnel", {"ambient_degC": 21.0}), ("cave_lamp", {})],
)
def test_an_undisturbed_lamp_agrees_whatever_the_air(name: str, hidden: dict[str, float]) -> None:
    build = load(name)
    found = against(made(build, hidden, 5, **HOW, charge=0.7))
    assert found.verdict == "AGREES" and not found.causes and not found.suggested
    assert set(verdicts(found).values()) == {"agrees"}
    assert found.air_degC == pytest.approx(
        hidden.get("ambient_degC", build.heat.ambient_degC), abs=0.1
    )
    assert not found.burst and found.law is None


@pytest.mark.parametrize(
    ("hidden", "wrong", "told"),
    [
        ({"sink_air_K_W": 6.5}, {"mount", "sink"}, "gives less heat to the air"),
        ({"sink_J_K": 45.0}, {"mount", "sink"}, "sink holds less heat"),
        ({"mount_sink_K_W": 2.2}, {"mount"}, "contact from mount to sink is worse"),
        ({"light_factor": 0.1}, {"mount", "sink"}, "less light, hence more heat"),
        ({"cell_R0_ohm": 0.1}, {"pack"}, "the pack sags more at once"),
        ({"set_gain": 1.06}, {"current"}, "more current flows than is asked for"),
        ({"diode_spread_V": -0.7}, {"output"}, "the diode takes less voltage"),
    ],
)
def test_a_disturbed_lamp_names_its_cause(
    hidden: dict[str, float], wrong: set[str], told: str
) -> None:
    found = against(made(SMOKE, hidden, 5, **HOW))
    assert found.verdict == "DIFFERS"
    assert wrong <= differ(found)
    best = found.causes[0][0]
    (name, true), (moved,) = next(iter(hidden.items())), best.moved
    assert moved.cause.name == name and told in moved.words
    assert moved.value == pytest.approx(true, rel=0.03)
    assert best.enough and best.explains > 0.9
    if moved.cause.key:
        (row,) = found.suggested
        assert row.key == moved.cause.key and row.spread <= row.total
    else:
        assert not found.suggested  # something that a person must look at


def test_two_causes_at_once_are_both_named_and_a_third_in_another_part() -> None:
    hidden = {"sink_J_K": 45.0, "mount_sink_K_W": 2.0, "cell_R0_ohm": 0.11}
    found = against(made(SMOKE, hidden, 5, **HOW))
    first, second = found.causes
    assert {moved.cause.name for moved in first[0].moved} == {"sink_J_K", "mount_sink_K_W"}
    assert [moved.cause.name for moved in second[0].moved] == ["cell_R0_ohm"]
    assert {row.key for row in found.suggested} == {
        "heat.sink_J_K",
        "heat.interface_K_W",
        "pack.cell_resistance_mohm",
    }


def test_air_that_no_rest_tells_is_a_cause_of_its_own_until_it_is_said() -> None:
    warm = tuple(
        (0, f"true.{name}_degC", 38.0) for name in ("mount", "sink", "mount_ntc", "sink_ntc")
    )
    record = made(SMOKE, {"ambient_degC": 20.0}, 5, **{**HOW, "use": (*warm, *HOW["use"])})
    found = against(record)
    assert found.air_degC == 30.0 and "no rest" in found.air_from
    assert found.verdict == "DIFFERS"
    (moved,) = found.causes[0][0].moved
    assert moved.cause.name == "ambient_degC" and moved.value == pytest.approx(20.0, abs=0.5)
    assert "the air is colder" in moved.words and not found.suggested
    assert against(record, air_degC=20.0).verdict == "AGREES"


def test_air_that_warms_behind_the_rest_is_named_too() -> None:
    use = ((15, "plant.ambient_degC", 36.0), *HOW["use"])
    found = against(made(SMOKE, {}, 5, **{**HOW, "use": use}))
    (moved,) = found.causes[0][0].moved
    assert moved.cause.name == "ambient_degC" and moved.value == pytest.approx(36.0, abs=0.3)
    assert "the air is warmer" in moved.words


def test_the_words_are_made_of_the_numbers() -> None:
    told = {
        each.name: each.told
        for each in against(made(SMOKE, {"mount_sink_K_W": 2.2}, 5, **HOW)).compared
    }
    assert told["mount"].startswith("mount heats ") and told["mount"].endswith(
        "more than the model"
    )
    assert 10 < int(told["mount"].split()[2]) < 40
    assert told["current"] == ""
    cold = against(made(SMOKE, {"cell_R0_ohm": 0.04}, 5, **HOW)).compared
    assert any("pack voltage sags" in each.told and "less" in each.told for each in cold)


def test_an_absent_column_is_not_judged_and_never_passes() -> None:
    record = made(SMOKE, {}, 5, **HOW)
    columns = {n: v for n, v in record.trace.columns.items() if n != "sink_read_degC"}
    found = against(replace(record, trace=replace(record.trace, columns=columns)))
    assert found.verdict == "INCOMPLETE"
    assert verdicts(found)["sink"] == "not judged" and verdicts(found)["pack"] == "agrees"
    columns = {n: v for n, v in record.trace.columns.items() if n != "duty"}
    nothing = against(replace(record, trace=replace(record.trace, columns=columns)))
    assert nothing.verdict == "INCOMPLETE"
    assert set(verdicts(nothing).values()) == {"not judged"}


def test_another_laws_recording_is_refused_with_both_hashes() -> None:
    record = made(SMOKE, {}, 5, until_s=30)
    other = {**record.trace.provenance, "law": "ab" * 32}
    with pytest.raises(BenchError, match="recorded with law abababababab, this package has ") as no:
        against(replace(record, trace=replace(record.trace, provenance=other)))
    assert "\n" not in str(no.value)


def test_a_gap_is_refused_and_the_part_before_it_is_taken() -> None:
    record = made(SMOKE, {}, 5, until_s=100)
    columns = {name: values.copy() for name, values in record.trace.columns.items()}
    for name in set(columns) - {"time_s"}:
        columns[name][400] = np.nan
    gapped: Record = replace(record, trace=replace(record.trace, columns=columns))
    with pytest.raises(BenchError, match=r"a gap at 80\.\d+ s"):
        against(gapped)
    assert against(gapped, to_s=79.0).verdict == "AGREES"
