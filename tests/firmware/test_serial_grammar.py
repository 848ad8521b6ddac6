"""One line's grammar, against IEEE 488.2-1992 chapter 7 and SCPI-99 volume 1, chapters 6 and 7."""

from decimal import ROUND_HALF_UP, Decimal
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from desk_driver import DriverDesk
from diodedriver import grammar, scpi
from diodedriver.commands import COMMANDS
from diodedriver.grammar import UNITS, Wrong, number

DARK = DriverDesk().dark()
#: line -> reply. Forms of a header, its path, units, extremes.
OBEYED = {
    "CURR?": "1.500",
    "curr?": "1.500",
    ":CURRENT?": "1.500",
    "SOUR:CURR?": "1.500",
    "source:current:level:immediate:amplitude?": "1.500",
    "CURR:AMPL?": "1.500",
    "CURR? MIN": "0.100",
    "CURR?\tMAXimum ": "1.500",
    "CURR 0.3;CURR?": "0.300",
    "CURR 300MA;CURR?": "0.300",
    "CURR 300 ma;CURR?": "0.300",
    "CURR +3E-1A;CURR?": "0.300",
    "CURR .3 A;CURR?": "0.300",
    "CURR 300000 UA;CURR?": "0.300",
    "CURR MIN;CURR?": "0.100",
    "CURR DEF;CURR?": "0.100",
    "CURR MAX;CURR?": "1.500",
    "OUTP OFF;OUTP?": "0",
    "OUTP 0;:OUTP ON;:OUTP?": "1",
    # a semicolon keeps the path, a colon leaves it, a common command does not touch it
    "STAT:QUES:ENAB 3;ENAB?": "3",
    "STAT:QUES:ENAB 3;*OPC?;ENAB?;:OUTP?": "1;3;1",
    "SYST:ERR:NEXT?;NEXT?": '0,"No error";0,"No error"',
    "SYST:ERR?;VERS?": '0,"No error";1999.0',
    "*ESE #HFF;*ESE?": "255",
    "*ESE #Q17;*ESE?": "15",
    "*ESE #B101;*ESE?": "5",
    ";;*OPC?;": "1",
    "": "",
    "*WAI": "",
}
#: line -> what it leaves in the error queue; those behind the first are not looked at
REFUSED = {
    "CURRE 1": -113,
    "CURR:LEVE 1": -113,
    "OUTP:STATUS ON": -113,
    "CURR:VOLT?": -113,
    "ERR?": -113,
    "CURR? MAX;LIM?": -113,
    "*CLS?": -113,
    "*IDN": -113,
    "VERYLONGHEADER 1": -112,
    "CURR$ 1": -102,
    "SYST::ERR?": -102,
    'SYST:SERV "open': -102,
    "CURR 1,": -108,
    "CURR,1": -103,
    "CURR": -109,
    "BURS:ROWS? 1": -109,
    "*CLS 1": -108,
    "CURR 0.3,0.4": -108,
    'CURR "0.3"': -104,
    "CURR FOO": -104,
    "SYST:SERV done": -104,
    "CURR 0.3.1": -121,
    "CURR 0..3": -121,
    "CURR +": -121,
    "CURR 1E": -121,
    "*ESE #HFG": -121,
    "*ESE #D10": -121,
    "*ESE #H": -121,
    "CURR 1V": -131,
    "CURR 1 MHZ": -131,
    "STEP 1A": -138,
    "CURR 1.501": -222,
    "CURR 0.099": -222,
    "CURR -0.3": -222,
    "CURR 1E300": -222,
    "CURR 1E99999999999": -222,
    "*ESE 256": -222,
    "*SRE -1": -222,
    "STEP 4": -222,
    "TEL 51": -222,
    "OUTP MAYBE": -224,
    "OUTP 2": -224,
    "CURR? 3": -224,
    'SETT:BEG 4;DATA "0g"': -224,
}


@pytest.mark.parametrize("line", OBEYED)
def test_a_line_is_obeyed(line: str) -> None:
    desk = DARK.fork()
    assert (desk.ask(line), desk.error()) == (OBEYED[line], 0)


@pytest.mark.parametrize("line", REFUSED)
def test_a_line_is_refused_with_its_own_error_and_changes_nothing(line: str) -> None:
    desk = DARK.fork()
    desk.ask(line)
    assert (desk.error(), desk.ask("CURR?;:OUTP?")) == (REFUSED[line], "1.500;1")


def spellings(pattern: str) -> list[str]:
    """Return every way to write a header: each node short or long, or left out where it may be."""
    ways = [
        [word.upper(), grammar.short(word), *([""] if optional else [])]
        for word, optional in grammar.nodes(pattern)
    ]
    return [":".join(word for word in words if word) for words in product(*ways)]


def test_every_spelling_of_every_header_is_its_own_row() -> None:
    found: dict[tuple[str, bool], str] = {}
    for pattern, *_ in COMMANDS:
        row = [row[0] for row in COMMANDS].index(pattern)
        asks = pattern.endswith("?")
        for spelling in spellings(pattern):
            assert found.setdefault((spelling, asks), pattern) == pattern, spelling
            assert DARK.port.headers.find(spelling.split(":"), asks) == row
    assert len(found) > 300
    assert len(DARK.port.headers.words) < grammar.OPTIONAL, "a word's place is less than a byte"


@given(
    sign=st.sampled_from(["", "+", "-"]),
    digits=st.from_regex(r"\A([0-9]{1,30}(\.[0-9]{0,30})?|\.[0-9]{1,30})\Z"),
    exponent=st.one_of(st.just(""), st.integers(-40, 40).map("E{}".format)),
    unit=st.sampled_from([(unit, name) for unit, row in UNITS.items() for name, _ in row]),
)
def test_a_number_is_read_as_decimal_arithmetic_has_it(
    sign: str, digits: str, exponent: str, unit: tuple[str, str]
) -> None:
    power = dict(UNITS[unit[0]])[unit[1]]
    exact = Decimal(sign + digits + exponent).scaleb(power)
    read = number(f"{sign}{digits}{exponent} {unit[1]}", UNITS[unit[0]])
    if abs(exact) >= 10**12:
        assert abs(read) == grammar.HUGE
    else:
        assert read == int(exact.quantize(Decimal(1), rounding=ROUND_HALF_UP))


@given(st.text(st.characters(codec="ascii"), min_size=1).map(str.strip).filter(bool))
def test_any_text_is_a_number_or_refused(text: str) -> None:
    try:
        said = number(text.upper(), UNITS["A"])
    except Wrong as wrong:
        said = wrong.number if wrong.number in scpi.ERRORS else None
    assert isinstance(said, int)


@pytest.mark.parametrize("end", [b"\n", b"\r\n", b" \t\r\n"])
def test_a_line_ends_with_lf_whatever_white_space_comes_before(end: bytes) -> None:
    desk = DARK.fork()
    desk.send(b"*OPC?" + end)
    assert desk.heard() == b"1\n"


def test_bytes_may_come_one_by_one() -> None:
    desk = DARK.fork()
    for byte in b"CURR 0.3;CURR?\r\n":
        assert desk.heard() == b""
        desk.send(bytes([byte]))
    assert desk.heard() == b"0.300\n"


def test_a_command_error_ends_its_line_and_an_execution_error_does_not() -> None:
    desk = DARK.fork()
    assert desk.ask("*OPC?;FOO;*OPC?") == "1"
    assert desk.ask("*OPC?;CURR 9;*OPC?") == "1;1"
    assert (desk.error(), desk.error(), desk.error()) == (-113, -222, 0)


def test_the_longest_line_is_obeyed_and_one_byte_more_is_an_overrun() -> None:
    desk = DARK.fork()
    line = b"*OPC?".ljust(scpi.LINE_BYTES)
    desk.send(line + b"\n")
    assert (desk.heard(), desk.error()) == (b"1\n", 0)
    desk.send(line + b" \n*OPC?\n")
    assert (desk.heard(), desk.error()) == (b"1\n", -363), "obeyed again from the next line on"


def test_endless_noise_without_a_line_end_is_one_overrun() -> None:
    desk = DARK.fork()
    desk.send(b"OUTP ON;" * 10_000)
    assert desk.heard() == b"" and desk.port.waiting == 0
    desk.send(b"\n")
    assert (desk.error(), desk.error(), desk.ask("*OPC?")) == (-363, 0, "1")


@pytest.mark.parametrize("junk", [b"\xff", b"OUTP OFF\xe9", b"\x7f", bytes(range(128, 256))])
def test_a_line_with_bytes_beyond_ascii_is_refused_whole(junk: bytes) -> None:
    desk = DARK.fork()
    desk.send(b"OUTP OFF;" + junk + b"\n")
    assert (desk.error(), desk.ask("OUTP?")) == (-102, "1")


def test_half_a_line_spoils_no_more_than_the_line_it_runs_into() -> None:
    desk = DARK.fork()
    desk.send(b"CURR 0.")
    desk.send(b"*IDN?\n*OPC?\n")
    assert (desk.heard(), desk.error()) == (b"1\n", -121)
