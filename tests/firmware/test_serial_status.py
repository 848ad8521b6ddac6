"""Registers, queue, output and what is sent in pieces.

Sources: IEEE 488.2-1992, 4.10 (mandatory commands) and chapter 11 (status byte, event register);
SCPI-99, volume 1, chapter 9, and volume 2, chapters 20 and 21 (STATus, SYSTem:ERRor).
"""

from binascii import crc32

import pytest

from desk_driver import PLACE, DriverDesk
from diodedriver import acts, panel, scpi, words
from diodedriver.commands import COMMANDS
from diodedriver.driver import unfold
from diodedriver.status import FAULT_BITS, OPERATION, QUESTIONABLE

DARK = DriverDesk().dark()
LIT = DriverDesk().lit()
#: IEEE 488.2, 4.10, and SCPI-99, volume 1, 4.2.1
MANDATORY = """*CLS *ESE *ESE? *ESR? *IDN? *OPC *OPC? *RST *SRE *SRE? *STB? *TST? *WAI
SYSTem:ERRor[:NEXT]? SYSTem:VERSion? STATus:OPERation[:EVENt]? STATus:OPERation:CONDition?
STATus:OPERation:ENABle STATus:OPERation:ENABle? STATus:QUEStionable[:EVENt]?
STATus:QUEStionable:CONDition? STATus:QUEStionable:ENABle STATus:QUEStionable:ENABle?
STATus:PRESet"""
#: an error of each class -> its bit in the standard event register (488.2, 11.5.1.1)
CLASSES = {-113: 32, -221: 16, -310: 8, -430: 4}
#: what a fault is about -> SCPI-99's bit of the questionable register
ABOUT = {"open": 0, "overcurrent": 1, "late": 2, "hot": 4, "settings": 8, "indicator": 12}


def test_every_mandatory_command_is_in_the_table() -> None:
    assert set(MANDATORY.split()) <= {row[0] for row in COMMANDS}


def test_identity_is_four_fields_and_the_standard_is_1999() -> None:
    assert DARK.fork().ask("*IDN?") == "diodewright,0123456789abcdef,0011223344556677,1"
    assert DARK.fork().ask("SYST:VERS?") == "1999.0"


def test_reset_leaves_output_off_and_keeps_enables_and_queue() -> None:
    desk = LIT.fork()
    desk.ask("*ESE 48;*SRE 32;FOO")
    desk.ask("TEL 5;*RST")
    desk.run()
    assert not desk.lights()
    assert desk.ask("OUTP?;*ESE?;*SRE?;:TEL?;:CURR?") == "0;48;32;0;0.100"
    assert desk.error() == -113


@pytest.mark.parametrize("number", CLASSES)
def test_an_error_sets_the_bit_of_its_class_and_reading_empties_the_register(number: int) -> None:
    desk = DARK.fork()
    assert desk.ask("*ESR?") == "128", "power on"
    desk.port.error(number)
    assert desk.ask("*ESR?;*ESR?") == f"{CLASSES[number]};0"


def test_the_queue_is_first_in_first_out_and_overflows_into_its_newest() -> None:
    desk = DARK.fork()
    for place in range(scpi.QUEUE + 3):
        desk.ask("STEP 9" if place % 2 else "FOO")
    found = [desk.error() for _ in range(scpi.QUEUE + 1)]
    assert found == [-113, -222] * (scpi.QUEUE // 2 - 1) + [-113, -350, 0]
    assert desk.ask("SYST:ERR?") == '0,"No error"'


def test_clear_empties_queue_and_events_and_keeps_enables() -> None:
    desk = LIT.fork()
    desk.ask("*ESE 255;:STAT:OPER:ENAB 256;FOO")
    assert desk.ask("*CLS;*ESR?;*ESE?;:STAT:OPER?;OPER:ENAB?;:SYST:ERR?") == (
        '0;255;0;256;0,"No error"'
    )


def test_the_status_byte_sums_up_and_the_master_bit_obeys_its_mask() -> None:
    desk = LIT.fork()
    desk.ask("*CLS")
    assert desk.ask("*STB?") == "0"
    desk.ask("FOO")
    assert desk.ask("*STB?") == "4"
    assert desk.ask("*ESE 32;*STB?") == "36"
    assert desk.ask("*SRE 255;*SRE?;*STB?") == f"191;{4 + 32 + 64 + 16}", "a reply waits: bit 4"
    desk.ask("*CLS;:STAT:OPER:ENAB 256;:STAT:QUES:ENAB 512")
    desk.desk.forced.update({"current_mA": 0, "output_mV": 6000})
    desk.run(20)
    assert desk.ask("*STB?") == f"{8 + 64}"
    assert desk.ask("STAT:PRES;*STB?;:STAT:OPER:ENAB?;:STAT:QUES:ENAB?") == "0;0;0"


@pytest.mark.parametrize("name", [row[0] for row in words.FAULTS])
def test_every_fault_row_is_questionable_until_it_clears_and_an_event_beyond(name: str) -> None:
    desk = DARK.fork()
    desk.driver.state[PLACE["faults"]] = 1 << [row[0] for row in words.FAULTS].index(name)
    bits = 1 << 9 | 1 << FAULT_BITS[name]
    assert desk.ask("STAT:QUES:COND?;:OUTP:PROT:TRIP?") == f"{bits};1"
    desk.driver.state[PLACE["faults"]] = 0
    assert desk.ask("STAT:QUES:COND?;:STAT:QUES?;:STAT:QUES?") == f"0;{bits};0"


def test_the_questionable_bits_are_those_of_the_standard() -> None:
    assert {name: FAULT_BITS[name] for name in ABOUT} == ABOUT
    assert {bit for bit, _ in QUESTIONABLE} >= set(FAULT_BITS.values())
    assert all(bit < 15 for bit, _ in (*QUESTIONABLE, *OPERATION))


def test_operation_says_what_goes_on() -> None:
    assert DARK.fork().ask("STAT:OPER:COND?") == str(1 << 5)
    assert LIT.fork().ask("STAT:OPER:COND?") == str(1 << 8)
    assert DriverDesk().testing().ask("STAT:OPER:COND?") == str(1 << 11)
    desk = DARK.fork()
    assert desk.ask("OUTP OFF;:STAT:OPER:COND?") == "0"
    desk.ask("BURS:STAR 5 MS")
    assert desk.ask("STAT:OPER:COND?") == str(1 << 10)
    desk.driver.held = 1
    assert desk.run(5).ask("STAT:OPER:COND?") == str(1 << 12)
    desk = DARK.fork().press().run(20)
    assert (desk.mode, desk.ask("STAT:OPER:COND?")) == ("delay", str(1 << 1))


def test_a_barred_board_says_why_and_reads_not_a_number() -> None:
    desk = DriverDesk().loaded()
    desk.driver.bar('settings: "x" = 9')
    assert desk.ask("STAT:MODE?;BARR?") == '"barred";"settings: ""x"" = 9"'
    assert desk.ask("MEAS:CURR?;VOLT?;TEMP?") == "9.91E+37;9.91E+37;9.91E+37"
    assert desk.ask("STAT:QUES:COND?") == str(1 << 10)
    assert desk.ask("OUTP OFF;OUTP ON;:OUTP?") == "0"
    assert desk.error() == -221


def test_the_first_cause_is_named_with_its_evidence() -> None:
    desk = LIT.fork()
    assert desk.ask("STAT:CAUS?") == '-1,"","",0,0,0'
    desk.desk.forced["current_mA"] = 1700
    desk.run(20)
    row, name, rule, tick, reading, limit = desk.ask("STAT:CAUS?").split(",")
    assert (row, name, rule, limit) == ("3", '"overcurrent"', '"interlock"', "1627")
    assert abs(int(reading) - 1700) <= 1 and int(tick) > 900
    assert desk.ask("OUTP:PROT:CLE;:OUTP:PROT:TRIP?") == "1"
    assert desk.error() == -221


def test_measurements_are_the_readings_in_si() -> None:
    desk = LIT.fork()
    desk.desk.true.update(sink_cK=26815, mount_cK=27315)
    desk.run(10)
    assert desk.ask("MEAS:VOLT:PACK?;:MEAS:TEMP?;TEMP:SINK?") == "8.000;0.00;-5.00"
    assert abs(float(desk.ask("MEAS:SCAL:CURR:DC?")) - 1.5) < 0.002
    assert abs(float(desk.ask("MEAS:VOLT?")) - 4.7) < 0.003


def test_each_command_of_a_long_line_is_a_sign_of_life() -> None:
    desk = LIT.fork()
    latest = []
    slow = desk.panel.allowed

    def allowed() -> bool:  # as slow as a chip may be: 30 ms a command
        for _ in range(30):
            desk.driver.tick(None)
        latest.append(desk.driver.beat)
        return slow()

    desk.panel.allowed = allowed
    desk.ask("OUTP?;" * 20)
    assert len(latest) == 20 and max(latest) <= 30 and desk.mode == "run"


# output


def full(desk: DriverDesk, free: int) -> None:
    """Fill the output but for `free` bytes."""
    desk.port.start = 0
    desk.port.end = scpi.OUT_BYTES - free


def test_a_reply_that_just_fits_is_sent_and_one_byte_less_is_an_error_and_no_half_line() -> None:
    desk = DARK.fork()
    full(desk, 9)
    desk.send(b"SYST:VERS?;*OPC?\n")
    assert desk.heard()[-9:] == b"1999.0;1\n" and desk.error() == 0
    full(desk, 8)
    desk.send(b"SYST:VERS?;*OPC?\n")
    assert len(desk.heard()) == scpi.OUT_BYTES - 8
    assert (desk.ask("*ESR?"), desk.error()) == (str(4 | 128), -430)


def test_output_that_was_taken_in_part_makes_room() -> None:
    desk = DARK.fork()
    full(desk, 2)
    desk.port.take(bytearray(64))
    desk.send(b"SYST:VERS?\n")
    assert desk.heard().endswith(b"\x001999.0\n") and desk.error() == 0


def test_a_full_heap_is_an_error_wherever_it_shows_and_no_half_line(monkeypatch) -> None:
    def full_heap(*_: object) -> str:
        raise MemoryError

    desk = DARK.fork()
    with monkeypatch.context() as patch:
        patch.setattr(acts, "telemetry_text", full_heap)
        desk.port.telemetry_line()
        patch.setattr(scpi.grammar, "parameters", full_heap)
        desk.send(b"*OPC?\n")
    assert desk.heard() == b""
    assert (desk.error(), desk.error(), desk.error()) == (-360, -321, 0)


def test_what_could_not_be_sent_is_given_again() -> None:
    desk = DARK.fork()
    desk.send(b"*IDN?;*IDN?\n")
    piece = bytearray(64)
    assert desk.port.take(piece) == 64
    desk.port.keep()
    desk.send(b"*OPC?\n")
    text = desk.heard()
    assert text.startswith(piece) and text.count(b"\n") == 2 and text.endswith(b"\n1\n")


def test_a_telemetry_line_is_sealed_and_its_words_are_those_of_one_tick() -> None:
    desk = LIT.fork()
    desk.port.telemetry_line()
    text, _, seal = desk.heard().decode().rstrip("\n").rpartition(",")
    assert int(seal, 16) == crc32(text.encode())
    mode, *values = text.split(",")
    assert mode == "@run" and len(values) == len(acts.TELEMETRY)
    for (name, table), value in zip(acts.TELEMETRY, values, strict=True):
        places = [row[0] for row in (words.STATE if table == "state" else words.READINGS)]
        source = desk.driver.state if table == "state" else desk.driver.readings
        assert int(value) == source[places.index(name)], name


def test_telemetry_that_nobody_reads_is_dropped_whole_and_told_once_until_read() -> None:
    desk = DARK.fork()
    for _ in range(100):
        desk.port.telemetry_line()
    lines = desk.heard().decode().split("\n")
    assert lines.pop() == "" and 2 < len(lines) < 100
    assert all(line.startswith("@dark,") for line in lines)
    assert (desk.error(), desk.error()) == (-360, 0)


# in pieces


def test_a_burst_keeps_every_tick_from_its_first_state_on() -> None:
    desk = DARK.fork()
    desk.ask("BURS:STAR 0.04 S")
    first = list(desk.driver.state)
    raws = []
    for _ in range(50):
        desk.run()
        raws.append(tuple(desk.driver.raw))
    assert desk.ask("BURS:COUN?") == "40,40"
    state, _, seal = desk.ask("BURS:FIRS:STAT?").rpartition(",")
    assert int(seal, 16) == crc32(state.encode())
    assert [int(word) for word in state.split(",")] == first
    found = []
    for row in range(0, 40, 20):
        text, _, seal = desk.ask(f"BURS:ROWS? {row},20").rpartition(",")
        assert int(seal, 16) == crc32(text.encode())
        at, count, *rows = text.split(",")
        assert (at, count) == (str(row), "20")
        found += [unfold(int(each[:8], 16), int(each[8:], 16)) for each in rows]
    assert found == raws[:40]
    assert desk.ask("BURS:ROWS? 21,20") == "" and desk.error() == -222


def test_the_longest_replies_fit_the_output() -> None:
    desk = DARK.fork()
    desk.ask("BURS:STAR MAX")
    desk.run(32)
    for _, first in zip(range(2), desk.panel.burst_words, strict=True):
        for place in range(len(first)):
            first[place] = words.ONES
    desk.driver.cause_row = lambda: 0
    desk.driver.state[PLACE["cause_tick"]] = words.ONES
    for line in ("BURS:FIRS:STAT?", "BURS:FIRS:READ?", "BURS:ROWS? 0,32", "STAT:CAUS?", "JOUR?"):
        assert desk.ask(line) and desk.error() == 0, line


def test_the_journal_is_read_entry_by_entry_to_its_end_and_again() -> None:
    desk = DARK.fork()
    entries = [desk.ask("JOUR?") for _ in range(desk.journal.kept + 1)]
    assert entries[-1] == '""' and entries[0].startswith('"fault",7,1234,"power on",3,')
    text, _, seal = entries[0].rpartition(",")
    assert int(seal, 16) == crc32(text.encode())
    assert [desk.ask("JOUR?"), desk.ask("JOUR:REW;:JOUR?")] == [entries[0]] * 2
    desk.journal.broken = OSError(5)
    desk.ask("JOUR:REW;:JOUR?")
    assert desk.error() == -310


class Slots:
    """Settings in flash that keep what they are given."""

    class Refused(Exception):
        pass

    kept: bytes = b""

    @staticmethod
    def unpack(blob: bytes, _unit: str) -> None:
        if blob.startswith(b"bad"):
            raise Slots.Refused("bad")

    @staticmethod
    def store(blob: bytes, _unit: str) -> None:
        if blob.startswith(b"worn"):
            raise OSError(5)
        Slots.kept = blob


def test_settings_are_stored_only_whole_and_bar_light_until_the_restart(monkeypatch) -> None:
    monkeypatch.setattr(panel, "settings", Slots)
    blob = bytes(range(256)) * 3
    desk = DARK.fork()
    desk.upload(blob, crc32(blob) ^ 1)
    assert (desk.error(), desk.mode, Slots.kept) == (-315, "dark", b"")
    desk.ask("SETT:BEG 2;DATA '00'")
    assert desk.ask("SETT:COUN?") == "1"
    desk.ask(f"SETT:COMM {crc32(bytes(2))}")
    assert desk.error() == -315, "a byte was missing"
    desk.ask("SETT:BEG 2;DATA '000000'")
    assert desk.error() == -222
    desk.driver.armed = 1
    for spoilt, error in ((b"bad record", -224), (b"worn flash", -315)):
        desk.upload(spoilt)
        assert (desk.error(), desk.mode) == (error, "dark")
        assert (desk.driver.writing, desk.driver.armed) == (0, 1), "as before it was tried"
    desk.upload(blob)
    assert (desk.error(), Slots.kept) == (0, blob)
    assert desk.ask("STAT:BARR?") == '"new settings: restart"'
    desk.press().run(300)
    assert not desk.lights()


def test_service_is_noted_in_maintenance_only() -> None:
    desk = DARK.fork()
    desk.ask("SYST:SERV 'new switch'")
    assert (desk.error(), desk.serviced) == (-221, [])
    desk.maintained = True
    desk.ask("SYST:SERV 'new switch'")
    assert (desk.error(), desk.serviced) == (0, ["new switch"])
    desk.ask("SYST:MAIN")
    assert desk.restarted == 1


def test_the_self_test_is_reported_as_it_ended() -> None:
    desk = DARK.fork()
    assert desk.ask("*TST?") == "-1"
    desk = DriverDesk().testing()
    assert desk.ask("*TST?") == "-1"
    desk.desk.pins.add("key")
    desk.run(200)
    failed = desk.driver.test.failed
    assert failed and desk.ask("*TST?") == str(failed)
    assert int(desk.ask("STAT:QUES:COND?")) & 1 << 11
