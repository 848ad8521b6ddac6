"""The sheet of expected readings holds what a healthy board shows, step by step."""

import json
from pathlib import Path

import pytest

from diodedriver import words
from diodewright.bench.sheet import Expected, Sheet, sheet_of
from diodewright.build import load
from diodewright.build.loading import with_values
from diodewright.derive import plant_values, settings
from diodewright.derive.tolerances import drawn_values, tolerances
from diodewright.plant.params import PARAMS, index_of
from diodewright.rehearse.use import dark_A
from diodewright.report.screen_sheet import sheet_as_html, sheet_as_markdown, show_sheet
from diodewright.sim import Event, Machine, compiled, new_tally, power_up

BUILDS = ("smoke_tunnel", "smoke_tunnel_bench", "smoke_tunnel_dummy", "cave_lamp", "gel_viewer")
_PARAM = index_of(PARAMS)


def rows(sheet: Sheet, step: str) -> dict[tuple[str, str], Expected]:
    (found,) = [each for each in sheet.steps if each.name == step]
    return {(row.point, row.read): row for row in found.rows}


@pytest.mark.parametrize(
    ("name", "place", "feed"),
    [
        ("smoke_tunnel_bench", 3, "bench supply, real diode"),
        ("smoke_tunnel_dummy", 2, "cell pack, dummy string"),
        ("gel_viewer", 4, "cell pack, real diode"),
    ],
)
def test_bench_supply_and_dummy_builds_go_the_same_way(name: str, place: int, feed: str) -> None:
    sheet = sheet_of(load(name))
    assert (sheet.place, sheet.feed) == (place, feed)
    assert [step.name for step in sheet.steps][:2] == ["assembly", "powered, dark"]


@pytest.mark.parametrize("name", BUILDS)
@pytest.mark.parametrize("end", [-1.0, 0.0, 1.0])
def test_a_healthy_board_at_any_end_of_its_tolerances_reads_within_its_sheet(
    name: str, end: float
) -> None:
    build = load(name)
    sheet = sheet_of(build)
    sensing = ("monitor-gain", "monitor-zero", "adc-offset", "output-divider", "pack-divider")
    parts = (*sensing, "forward-voltage")
    draws = {row.name: end for row in tolerances(build) if row.name in parts}
    engine = compiled()
    limits = settings(build)
    machine = power_up(engine, drawn_values(build, draws), limits, {"soc": 0.9}, 1)
    tally = new_tally(engine, dark_A(build))
    machine.run(500, tally)
    p = {key: float(machine.p.flat[place]) for key, place in _PARAM.items()}
    dark = rows(sheet, "powered, dark")
    held(dark["pack", "voltmeter"], machine.true("pack_V"))
    held(dark["TP2", "voltmeter"], machine.true("output_V"))
    held(dark["serial", "MEAS:VOLT:PACK?"], reading(machine, "pack_mV") - machine.true("pack_V"))
    held(dark["serial", "MEAS:CURR?"], reading(machine, "current_mA"))
    assert machine.true("latch") == 1.0 and "tripped" in dark["TP6", "voltmeter"].band
    step = next(each for each in sheet.steps if each.name.startswith("lit"))
    lit = rows(sheet, step.name)
    waits = machine.now + limits["delay_ticks"] + limits["ramp_ticks"] + 2000
    machine.run(
        waits,
        tally,
        [Event(machine.now + 1, "plant.trigger", 1.0), Event(machine.now + 1, "law.budget", 0.0)],
    )
    assert machine.mode() == "run"
    true_A = machine.true("diode_A")
    held(lit["diode's loop", "ammeter"], true_A)
    held(lit["TP2", "voltmeter"], machine.true("output_V"))
    held(lit["TP3", "voltmeter"], true_A * p["monitor_ohm"] * p["monitor_gain_V_V"])
    held(lit["serial", "MEAS:CURR?"], reading(machine, "current_mA") - true_A)
    held(lit["serial", "MEAS:VOLT?"], reading(machine, "output_mV") - machine.true("output_V"))
    assert machine.true("latch") == 0.0 and "not tripped" in lit["TP6", "voltmeter"].band


def reading(machine: Machine, name: str) -> float:
    """Return what the law reads [A, V]."""
    return float(machine.readings[words.index(words.READINGS, name)]) / 1000


def held(row: Expected, value: float) -> None:
    assert row.low is not None and row.high is not None
    assert row.low <= value <= row.high, f"{row.point} {row.read}: {value:.5g}, {row.band}"


@pytest.mark.parametrize(
    ("part", "by", "step", "query", "word", "true"),
    [
        ("monitor_gain_V_V", 1.04, "lit, module_A", "MEAS:CURR?", "current_mA", "diode_A"),
        ("output_ratio", 1.08, "lit, module_A", "MEAS:VOLT?", "output_mV", "output_V"),
        ("pack_ratio", 1.06, "powered, dark", "MEAS:VOLT:PACK?", "pack_mV", "pack_V"),
    ],
)
def test_a_part_that_is_some_per_cent_off_reads_outside_of_its_sheet(
    part: str, by: float, step: str, query: str, word: str, true: str
) -> None:
    build = load("gel_viewer")
    values = dict(plant_values(build))
    values[part] = by * float(values[part])  # type: ignore[arg-type]
    machine = power_up(compiled(), values, settings(build), {"soc": 0.9}, 1)
    pressed = [Event(600, "plant.trigger", 1.0)] if step.startswith("lit") else []
    machine.run(4000, new_tally(compiled(), dark_A(build)), pressed)
    with pytest.raises(AssertionError, match="serial"):
        held(
            rows(sheet_of(build), step)["serial", query],
            reading(machine, word) - machine.true(true),
        )


def test_a_calibration_narrows_the_bands_of_the_sheet() -> None:
    build = load("smoke_tunnel_dummy")
    better = with_values(
        build, {"calibration.current_gain_off_pct": 0.6, "calibration.output_off_pct": 0.3}
    )

    def width(of: Sheet, read: str) -> float:
        row = rows(of, "lit, full_A")["serial", read]
        assert row.low is not None and row.high is not None
        return row.high - row.low

    before, after = sheet_of(build), sheet_of(better)
    for read in ("MEAS:CURR?", "MEAS:VOLT?"):
        assert width(after, read) < width(before, read)


def test_sheet_and_bring_up_page_say_the_same_of_a_level() -> None:
    page = (Path(__file__).parents[2] / "hardware_notes" / "bring_up.md").read_text("utf-8")
    for name in ("smoke_tunnel", "smoke_tunnel_dummy"):
        lit = rows(sheet_of(load(name)), "lit, full_A")
        diode, output = lit["diode's loop", "ammeter"].band, lit["TP2", "voltmeter"].band
        assert f"| {diode} | {output} |" in page


def test_every_row_has_a_meaning_and_every_probe_point_is_of_the_circuit() -> None:
    for name in BUILDS:
        sheet = sheet_of(load(name))
        known = {point for point, _, _ in sheet.points}
        for step in sheet.steps:
            for row in step.rows:
                assert row.means and row.band
                assert not row.point.startswith("TP") or row.point in known


def test_the_sheet_is_written_as_asked(
    tmp_path: Path, capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    sheet = sheet_of(load("smoke_tunnel_dummy"))
    for file in ("sheet.md", "sheet.html"):
        show_sheet(sheet, False, tmp_path / file)
    assert (tmp_path / "sheet.md").read_text() == sheet_as_markdown(sheet)
    assert (tmp_path / "sheet.html").read_text() == sheet_as_html(sheet)
    assert "src=" not in sheet_as_html(sheet) and "href=" not in sheet_as_html(sheet)
    show_sheet(sheet, True, None)
    document = json.loads(capfd.readouterr().out.partition("\n{")[2].join(("{", "")))
    assert document["format"] == 1 and document["build"] == "smoke_tunnel_dummy"
