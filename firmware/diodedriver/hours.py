"""Lit time and starts: two numbers that only grow, kept through power-off.

The file, little-endian: lit time [s], starts, CRC-32 (that of IEEE 802.3) of these eight bytes. It
is written at each clean end, dark. What was lit before an end that was not clean is not in it, and
a file that is not whole begins again at 0: both numbers are lower bounds.
"""

import struct
from binascii import crc32

FILE = "hours"
_LAYOUT = "<II"
_SIZE = struct.calcsize(_LAYOUT)
_MOST = 0xFFFFFFFF


class Hours:
    """The two numbers, as they were kept and with what came since."""

    def __init__(self) -> None:
        self.lit_s, self.starts = _load()
        self.lit = False
        self.rest_ms = 0

    def passes(self, elapsed_ms: int, lit: bool) -> None:
        """Let time pass that ends lit or dark."""
        if lit and not self.lit and self.starts < _MOST:
            self.starts += 1
        if self.lit:
            self.rest_ms += elapsed_ms
            if self.rest_ms >= 1000 and self.lit_s < _MOST:
                self.lit_s += self.rest_ms // 1000
                self.rest_ms %= 1000
        self.lit = lit

    def keep(self) -> None:
        """Write both; call it while dark. Flash that refuses costs the numbers, nothing else."""
        body = struct.pack(_LAYOUT, self.lit_s, self.starts)
        try:
            with open(FILE, "wb") as file:
                file.write(body + struct.pack("<I", crc32(body)))
        except OSError:
            pass


def _load() -> "tuple[int, int]":
    try:
        with open(FILE, "rb") as file:
            data = file.read(_SIZE + 5)
    except OSError:
        return 0, 0
    if len(data) != _SIZE + 4 or struct.pack("<I", crc32(data[:_SIZE])) != data[_SIZE:]:
        return 0, 0
    lit_s, starts = struct.unpack(_LAYOUT, data[:_SIZE])
    return int(lit_s), int(starts)
