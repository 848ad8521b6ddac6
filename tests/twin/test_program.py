"""Settings over serial: what a board takes, what it refuses, and what it does without any."""

import struct
from binascii import crc32

import pytest

from diodedriver import settings as slots
from diodedriver import words
from diodewright.build import load
from diodewright.derive import settings
from diodewright.twin import Twin
from diodewright.twin.child import blank_flash
from diodewright.twin.chip import UNIT
from diodewright.twin.provision import put_files
from stories import ask, blinked, lit, lit_ticks, power_cycle, press, release, tell, until

NAME = "cave_lamp"
LOWER_MA = 400
BARRED = "new settings: restart"
#: SCPI-99, volume 1, 21.8: execution errors, and the device's own.
CONFLICT, ILLEGAL_VALUE, CONFIGURATION_LOST = -221, -224, -315


def record(unit: str = UNIT, **changes: int) -> bytes:
    """Return settings of the build, a little changed, as the host packs them."""
    return slots.pack(settings(load(NAME)) | changes, unit, "feedfacefeedface", "changed", 1)


def upload(twin: Twin, blob: bytes, checksum: int | None = None) -> int:
    """Send a record in pieces and commit it; return the commit's error number."""
    assert tell(twin, f"SETT:BEG {len(blob)}") == 0
    for start in range(0, len(blob), 96):
        assert tell(twin, f'SETT:DATA "{blob[start : start + 96].hex()}"') == 0
    assert int(ask(twin, "SETT:COUN?")) == len(blob)
    return tell(twin, f"SETT:COMM {crc32(blob) if checksum is None else checksum}")


def barred(twin: Twin) -> str:
    return ask(twin, "STAT:BARR?").strip('"')


def fingerprint(twin: Twin) -> str:
    return ask(twin, "SETT:FING?").strip('"')


def stays_dark_when_pressed(twin: Twin) -> None:
    press(twin)
    assert not lit_ticks(twin.run(1500))
    release(twin)
    twin.run(50)


def of_another_table(blob: bytes) -> bytes:
    """Return a record whose word table is another, its own checksum right."""
    changed = bytearray(blob[:-4])
    struct.pack_into("<I", changed, 14, slots.TABLE ^ 1)
    return bytes(changed) + struct.pack("<I", crc32(changed))


def flipped(blob: bytes) -> bytes:
    changed = bytearray(blob)
    changed[len(blob) // 2] ^= 4
    return bytes(changed)


def test_new_settings_bar_light_until_the_restart_and_rule_from_there(board) -> None:
    twin = board(NAME)
    until(twin, "dark")
    assert upload(twin, record(level_0_mA=LOWER_MA)) == 0
    assert barred(twin) == BARRED
    stays_dark_when_pressed(twin)
    power_cycle(twin)
    lit(twin)
    assert fingerprint(twin) == "feedfacefeedface"
    level = until(twin, "run")[-1].drive_A
    assert level == pytest.approx(LOWER_MA / 1000, abs=0.002)
    assert ask(twin, "CURR:LIM? MAX") == "0.500", "its second level is the highest now"


#: what is sent, instead of a good record -> (it, checksum sent or None for its own, error)
REFUSED = {
    "another unit's": (record(unit="8877665544332211"), None, ILLEGAL_VALUE),
    "of another word table": (of_another_table(record()), None, ILLEGAL_VALUE),
    "flipped before it was sent": (flipped(record()), None, ILLEGAL_VALUE),
    "flipped on its way": (flipped(record()), crc32(record()), CONFIGURATION_LOST),
}


@pytest.mark.parametrize("what", REFUSED)
def test_a_record_that_is_not_this_boards_is_refused_and_the_old_one_rules(board, what) -> None:
    blob, checksum, error = REFUSED[what]
    twin = board(NAME)
    until(twin, "dark")
    before = fingerprint(twin)
    assert upload(twin, blob, checksum) == error
    assert barred(twin) == "", "nothing has changed, so nothing is barred"
    power_cycle(twin)
    until(twin, "dark")
    assert fingerprint(twin) == before != "feedfacefeedface"
    assert lit_ticks(lit(twin).run(10))


def test_half_an_upload_is_refused_and_forgotten_at_a_restart(board) -> None:
    twin = board(NAME)
    until(twin, "dark")
    before, blob = fingerprint(twin), record(level_0_mA=LOWER_MA)
    assert tell(twin, f"SETT:BEG {len(blob)}") == 0
    assert tell(twin, f'SETT:DATA "{blob[:96].hex()}"') == 0
    padded = blob[:96] + bytes(len(blob) - 96)
    assert tell(twin, f"SETT:COMM {crc32(padded)}") == CONFIGURATION_LOST
    assert tell(twin, f'SETT:DATA "{blob[96:192].hex()}"') != 0, "it would have to begin again"
    assert tell(twin, f"SETT:BEG {len(blob)}") == 0
    power_cycle(twin)
    until(twin, "dark")
    assert tell(twin, f"SETT:COMM {crc32(blob)}") == CONFIGURATION_LOST
    assert fingerprint(twin) == before


def test_a_commit_while_lit_is_refused_and_the_light_stays_on(board) -> None:
    twin = board(NAME)
    until(twin, "dark")
    blob = record(level_0_mA=LOWER_MA)
    assert tell(twin, f"SETT:BEG {len(blob)}") == 0
    for start in range(0, len(blob), 96):
        assert tell(twin, f'SETT:DATA "{blob[start : start + 96].hex()}"') == 0
    lit(twin)
    before = twin.now
    assert tell(twin, f"SETT:COMM {crc32(blob)}") == CONFLICT
    assert tell(twin, "SETT:BEG 100") == CONFLICT
    twin.run(100)
    assert twin.look.diode_A > 0.1 and not twin.resets, f"dark behind {before}"


def test_a_blank_board_is_barred_blinks_and_takes_its_first_settings(board, tmp_path) -> None:
    twin = board(NAME)
    twin.close()
    blank_flash(twin.flash)
    twin = board(NAME, fresh=False)
    twin.run(600)
    assert barred(twin).startswith("settings: no whole settings here")
    assert blinked(twin) == words.blinks(words.index(words.FAULTS, "settings"))
    stays_dark_when_pressed(twin)
    assert upload(twin, record()) == 0
    power_cycle(twin)
    assert lit_ticks(lit(twin).run(10))


def test_another_units_flash_is_barred_and_names_both_units(board) -> None:
    twin = board(NAME)
    twin.close()
    foreign = record(unit="8877665544332211")
    put_files(twin.flash, {"settings.0": foreign})
    twin = board(NAME, fresh=False)
    twin.run(600)
    told = barred(twin)
    assert told == f"settings: settings.0: made for unit 8877665544332211, this is {UNIT}"
    assert blinked(twin) == words.blinks(words.index(words.FAULTS, "settings"))
    stays_dark_when_pressed(twin)
