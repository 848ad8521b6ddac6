"""The desk behind a pseudo-terminal: a serial port that any program can open.

``python serial_server.py`` prints the port's path and serves it until its standard input closes.
One turn is one tick, as often as bytes come or a millisecond has passed.
"""

import os
import pty
import select
import sys
import tty

from desk_driver import DriverDesk


def serve(desk: DriverDesk, master: int) -> None:
    """Run the desk's main loop on one end of a terminal."""
    buffer = bytearray(64)
    while True:
        ready, _, _ = select.select([master, sys.stdin], [], [], 0.001)
        if sys.stdin in ready and not os.read(sys.stdin.fileno(), 1):
            return
        if master in ready:
            data = os.read(master, len(buffer))
            desk.port.feed(data, len(data))
        desk.run()
        if count := desk.port.take(buffer):
            os.write(master, buffer[:count])


def main() -> None:
    master, slave = pty.openpty()
    tty.setraw(slave)
    print(os.ttyname(slave), flush=True)
    serve(DriverDesk().dark(), master)


if __name__ == "__main__":
    main()
