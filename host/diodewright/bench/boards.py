"""Boards at this machine's ports, told by their USB ids; never a guess between two."""

from collections.abc import Iterable
from dataclasses import dataclass

from serial.tools import list_ports

from diodewright.bench.problems import BenchError
from diodewright.build.plain_file import printable

__all__ = ["HOW_TO_BEGIN", "Board", "boards", "chosen", "port_again"]

#: Vendor ids [USB] under which boards of the two chip families run MicroPython, from memory: that
#: of the chips' maker, and the one that MicroPython's own boards use.
VENDORS = (0x2E8A, 0xF055)
HOW_TO_BEGIN = (
    "no board found. One that never had MicroPython comes first: hold its boot button while you "
    "plug it in, copy the MicroPython image made for that board (1.26 or later) onto the drive "
    "that appears, and wait until it restarts"
)


@dataclass(frozen=True)
class Board:
    """A port and what USB says of what is behind it.

    Attributes
    ----------
    port : its path.
    usb : vendor and product, hexadecimal.
    serial : the device's own serial number, "" where it has none.
    said : its name as it tells it.
    """

    port: str
    usb: str
    serial: str
    said: str

    def __str__(self) -> str:
        return printable(f"{self.port} ({self.usb}, serial {self.serial or 'none'}, {self.said})")


def boards() -> list[Board]:
    """Return the boards that are plugged in, in the order of their serial numbers."""
    found = [
        Board(row.device, f"{row.vid:04x}:{row.pid:04x}", row.serial_number or "", row.description)
        for row in list_ports.comports()
        if row.vid in VENDORS
    ]
    return sorted(found, key=lambda board: (board.serial, board.port))


def chosen(named: Iterable[str], every: bool) -> list[str]:
    """Return the ports to work at: those `named`, else the one board there is, or with `every` all.

    Raises
    ------
    BenchError
        No board, several where one is asked for, or a port named twice.
    """
    ports = list(named)
    if len(set(ports)) < len(ports):
        raise BenchError("--port names one port twice")
    if len(ports) > 1 and not every:
        raise BenchError(f"{len(ports)} ports named: one at a time, or --batch for all of them")
    if ports:
        return ports
    found = boards()
    if not found:
        others = len(list_ports.comports())
        more = f"; {others} other serial ports are here: --port names one" if others else ""
        raise BenchError(f"{HOW_TO_BEGIN}{more}")
    if len(found) > 1 and not every:
        listed = "; ".join(str(board) for board in found)
        raise BenchError(
            f"{len(found)} boards: {listed}; name one with --port, or all with --batch"
        )
    return [board.port for board in found]


def port_again(port: str, serial: str) -> str:
    """Return where the board of that serial number is now: a restart may give it another port."""
    if serial:
        for board in boards():
            if board.serial == serial:
                return board.port
    return port
