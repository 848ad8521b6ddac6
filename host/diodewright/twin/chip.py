"""The chip as the twin knows it: its outputs, what may befall it, and what one tick of it shows."""

from dataclasses import dataclass

__all__ = ["BOOT_MS", "CHIP", "CHIP_MIN_V", "OUTPUTS", "UNIT", "Look"]

#: The simulated chip's own number.
UNIT = "0011223344556677"
#: Outputs in the order of their bits, as the shim sends them and `sim.pins` takes them.
OUTPUTS = ("enable_b", "pulse", "trickle", "inject", "reset", "indicator", "warn", "blink")
#: What may befall the chip, beside "plant.*" and "true.*": name -> meaning.
CHIP = {
    "timer_dead": "the timer never fires again",
    "main_starved": "the main loop does not get its turn",
    "raise": "the next statement of the main loop that waits raises an exception",
    "stride": "the timer fires only every so many periods",
    "reset": "the chip is reset (its value: 1 power on, 3 watchdog)",
    "mux_stuck": "the multiplexer's address is stuck at this channel, 255: not",
    "mux_low": "address bits of the multiplexer that are stuck at 0",
    "mux_late": "the multiplexer gives the channel of so many conversions ago",
    "mux_swapped": "1: mount and sink sensors are exchanged",
}
#: Time from a reset to the first statement of boot.py [ms]: tens to hundreds, from memory.
BOOT_MS = 150
#: Below this the chip does not run [V]: its supply's lower end, from memory.
CHIP_MIN_V = 1.8


@dataclass(frozen=True)
class Look:
    """What the board showed in one tick.

    Attributes
    ----------
    tick : since power-on [ms].
    mode : the law's mode by name; "" where the law does not run.
    drive_A : what the law asks for [A].
    cause : its first cause, or None.
    diode_A : true current [A].
    """

    tick: int
    mode: str
    drive_A: float
    cause: str | None
    diode_A: float
