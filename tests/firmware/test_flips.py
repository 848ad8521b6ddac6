"""One, two and three flipped bits in a settings record are found.

The checksum is linear: whether flipped bits pass depends on the bits alone. So each bit's effect
on the checksum is measured once, and all pairs and triples are looked up: none cancel. The
published figure agrees: CRC-32 of IEEE 802.3 has Hamming distance 4 from 2,975 to 91,607 bits
(Koopman, "32-Bit Cyclic Redundancy Codes for Internet Applications", DSN 2002; the figures are from
memory).
"""

from binascii import crc32

import numpy as np
import pytest

from diodedriver import settings
from settings_claims import AS_BUILT, NEW, UNIT, record

GOOD = record(NEW, 5)
LONGEST = settings.pack(NEW, "u" * 64, "f" * 64, "~" * 400, 1)
SEED = 20260727


def flipped(blob: bytes, bits: list[int]) -> bytes:
    changed = bytearray(blob)
    for bit in bits:
        changed[bit // 8] ^= 1 << bit % 8
    return bytes(changed)


def residue(blob: bytes) -> int:
    """Return what the checksum's comparison sees: 0 where it fits."""
    return crc32(blob[:-4]) ^ int.from_bytes(blob[-4:], "little")


def effects(blob: bytes) -> np.ndarray:
    """Return what each single bit does to the comparison, in order of place."""
    return np.array([residue(flipped(blob, [bit])) for bit in range(8 * len(blob))], np.uint32)


def test_every_single_flipped_bit_is_refused() -> None:
    settings.unpack(GOOD, UNIT)
    for bit in range(8 * len(GOOD)):
        with pytest.raises(settings.Refused, match="not whole"):
            settings.unpack(flipped(GOOD, [bit]), UNIT)


def test_what_flips_do_to_the_checksum_adds_up() -> None:
    assert residue(GOOD) == 0
    single = effects(GOOD)
    rng = np.random.default_rng(SEED)
    for count in (2, 3, 4, 7):
        for _ in range(500):
            bits = rng.choice(len(single), count, replace=False)
            assert residue(flipped(GOOD, bits.tolist())) == np.bitwise_xor.reduce(single[bits])


@pytest.mark.parametrize("blob", [GOOD, LONGEST], ids=["usual", "longest"])
def test_no_two_and_no_three_flipped_bits_cancel(blob: bytes) -> None:
    single = np.sort(effects(blob))
    assert single[0] != 0
    assert (np.diff(single.astype(np.int64)) > 0).all(), "two bits cancel"
    triples = 0
    for place in range(len(single) - 2):
        pairs = single[place] ^ single[place + 1 :]
        found = np.searchsorted(single, pairs)
        hits = single[np.minimum(found, len(single) - 1)] == pairs
        assert not hits.any(), "three bits cancel"
        triples += len(pairs)
    assert triples > len(single) ** 2 // 2 - 2 * len(single)


def test_sampled_triples_are_refused_by_the_record_itself() -> None:
    print(f"seed {SEED}")
    rng = np.random.default_rng(SEED)
    for _ in range(3000):
        bits = rng.choice(8 * len(GOOD), 3, replace=False).tolist()
        with pytest.raises(settings.Refused, match="not whole"):
            settings.unpack(flipped(GOOD, bits), UNIT)


def test_a_flipped_bit_in_one_slot_meets_its_copy_and_in_both_there_is_no_light(
    tmp_path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    for bit in range(0, 8 * len(GOOD), 97):
        for zero, one in ((flipped(GOOD, [bit]), GOOD), (GOOD, flipped(GOOD, [bit]))):
            (tmp_path / "settings.0").write_bytes(zero)
            (tmp_path / "settings.1").write_bytes(one)
            got = settings.load(UNIT)
            assert (got.values, got.as_built) == (NEW, AS_BUILT)
        (tmp_path / "settings.0").write_bytes(flipped(GOOD, [bit]))
        (tmp_path / "settings.1").write_bytes(flipped(GOOD, [bit]))
        with pytest.raises(settings.Refused, match="no whole settings"):
            settings.load(UNIT)
