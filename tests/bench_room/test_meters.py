"""A reading from a meter: in the unit asked for, or one line that says why there is none."""

import io
import sys
from pathlib import Path

import pytest
from scpi_meter import ScpiMeter

from diodewright.bench import BenchError, Missing, meters
from diodewright.bench.meters import number_in, open_meter


@pytest.fixture(autouse=True)
def _impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(meters, "_ANSWER_MS", 700)


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("0.512", "A", 0.512),
        (" 512 mA\n", "A", 0.512),
        ("+5.12000E-01", "A", 0.512),
        ("5.12E+02MA", "A", 0.512),  # SCPI's MA is milliampere
        (".5", "V", 0.5),
        ("-3.2 mV", "V", -0.0032),
        ("25.3 C", "degC", 25.3),
        ("41 CEL", "degC", 41.0),
        ("150 uW", "W", 150e-6),
    ],
)
def test_a_number_is_taken_in_the_unit_asked_for(text: str, unit: str, value: float) -> None:
    assert number_in(text, unit) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "unit", "said"),
    [
        ("", "A", "is no number"),
        ("OVERLOAD", "A", "is no number"),
        ("1.2,0.3", "A", "is no number"),
        ("0,512", "A", "decimal point"),
        ("1.2 V", "A", "is in V, asked for A"),
        ("77 F", "degC", "is in F, asked for degC"),
        ("9.9E37", "A", "overload"),
        ("-9.90000000E+37", "V", "overload"),
        ("9.91E+37", "degC", "overload, or no reading"),
        ("1e999", "A", "overload"),
        ("4021", "A", "no meter here reads that"),
        ("1900", "degC", "no meter here reads that"),
    ],
)
def test_what_is_no_reading_of_that_kind_is_refused(text: str, unit: str, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        number_in(text, unit)


def test_a_slip_at_the_keyboard_is_asked_again(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO("0,51\n510 mA\n"))
    assert open_meter("typed", "current", "A")() == pytest.approx(0.51)
    said = capsys.readouterr()
    assert said.out == "" and "write a decimal point: once more" in said.err
    with pytest.raises(BenchError, match="no reading was typed"):
        open_meter("typed", "current", "A")()


def test_lines_of_a_file_come_one_a_call_by_the_column_s_name(tmp_path: Path) -> None:
    file = tmp_path / "bench.csv"
    file.write_text("# last week\nwhen,current_A,pack_V\n1,0.1,8.2\n2,200 mA,8.1\n3,oops,8\n")
    current, pack = (
        open_meter(f"csv:{file}", "current", "A"),
        open_meter(f"csv:{file}", "pack", "V"),
    )
    assert [current(), current(), pack()] == [0.1, 0.2, 8.2]
    with pytest.raises(BenchError, match="line 5: 'oops' is no number"):
        current()
    with pytest.raises(BenchError, match="no reading is left"):
        current()


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (None, "no such file"),
        (b"", "holds no readings"),
        (b"time,volts\n1,2\n", "no column current_A; it has time, volts"),
        (b"\xff\xfe1\n", "UTF-16"),
    ],
)
def test_a_file_without_readings_is_one_line(
    tmp_path: Path, content: bytes | None, said: str
) -> None:
    file = tmp_path / "bench.csv"
    if content is not None:
        file.write_bytes(content)
    with pytest.raises(BenchError, match=said) as refused:
        open_meter(f"csv:{file}", "current", "A")
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize("spec", ["", "csv:", "visa:", "gpib:7", "Typed"])
def test_an_unknown_spec_names_those_there_are(spec: str) -> None:
    with pytest.raises(BenchError, match="write typed, csv:FILE or visa:RESOURCE"):
        open_meter(spec, "current", "A")


def test_a_scpi_meter_is_asked_for_its_quantity() -> None:
    values = iter(("+1.01200E-01", "2.034E+02 MA"))
    answers = {"MEAS:CURR:DC?": lambda: next(values), "READ?": "4.2"}
    with ScpiMeter(answers) as bench, open_meter(f"visa:{bench.resource}", "current", "A") as meter:
        assert meter.name == "somebody,DMM,1,2.0"
        assert [meter(), meter()] == pytest.approx([0.1012, 0.2034])
    with (
        ScpiMeter(answers) as bench,
        open_meter(f"visa:{bench.resource},READ?", "output", "V") as meter,
    ):
        assert meter() == 4.2


def test_a_thermometer_set_to_kelvin_is_converted_and_one_in_fahrenheit_refused() -> None:
    with (
        ScpiMeter({"UNIT:TEMP?": "K", "MEAS:TEMP?": "298.15"}) as bench,
        open_meter(f"visa:{bench.resource}", "mount", "degC") as meter,
    ):
        assert meter() == pytest.approx(25.0)
    with (
        ScpiMeter({"UNIT:TEMP?": "FAR", "MEAS:TEMP?": "77"}) as bench,
        pytest.raises(BenchError, match="set to FAR, asked for degC"),
    ):
        open_meter(f"visa:{bench.resource}", "mount", "degC")
    with (
        ScpiMeter({"MEAS:TEMP?": "0.1"}) as bench,  # knows one unit only
        open_meter(f"visa:{bench.resource}", "sink", "degC") as meter,
    ):
        assert meter() == 0.1


@pytest.mark.parametrize(
    ("answers", "said"),
    [
        ({"MEAS:CURR:DC?": "9.9E37"}, "MEAS:CURR:DC.: '9.9E37': overload"),
        ({"MEAS:CURR:DC?": "+4.20000E+00 V"}, "is in V, asked for A"),
        ({"MEAS:CURR:DC?": "HELLO"}, "'HELLO' is no number"),
        ({"MEAS:CURR:DC?": "\xff\xfe"}, "answers no text"),
        ({}, "no answer to MEAS:CURR:DC"),
    ],
)
def test_a_meter_that_talks_nonsense_is_one_line(answers: dict[str, str], said: str) -> None:
    with (
        ScpiMeter(answers) as bench,
        open_meter(f"visa:{bench.resource}", "current", "A") as meter,
        pytest.raises(BenchError, match=said) as refused,
    ):
        meter()
    assert "\n" not in str(refused.value) and bench.resource in str(refused.value)


def test_a_board_is_no_meter() -> None:
    with (
        ScpiMeter({}, name="diodewright,abc,e6,1") as bench,
        pytest.raises(BenchError, match="that is a board itself, no meter"),
    ):
        open_meter(f"visa:{bench.resource}", "current", "A")


@pytest.mark.parametrize("resource", ["ASRL/dev/no-such-meter::INSTR", "nonsense", "ASRL::INSTR"])
def test_a_meter_that_is_not_there_is_one_line(resource: str) -> None:
    with pytest.raises(BenchError, match=resource.replace("?", ".")) as refused:
        open_meter(f"visa:{resource}", "current", "A")
    assert "\n" not in str(refused.value)


def test_without_pyvisa_the_command_that_installs_it_is_told(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setitem(sys.modules, "pyvisa", None)
    with pytest.raises(Missing, match=r"pip install 'diodewright\[bench\]'"):
        open_meter("visa:nonsense", "current", "A")
