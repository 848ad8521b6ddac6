"""The parts of the circuit that can fail, each one once, and how often parts of its kind do.

`PARTS` is what the catalogue is complete over: for every part here and every mode of
`fault.Mode` there is a row, or a reason in `unshown.UNSHOWN`.

Shares of failure modes are those of FMD-91 and MIL-HDBK-338B as an open reliability database
carries them, second-hand; thermistor and cells are from memory and a vendor's guide. They rank,
they do not predict; what a share leaves to 100 % are modes that this table does not know.
"""

from dataclasses import dataclass

from diodewright.faults.fault import Mode

__all__ = ["MODES", "PARTS", "SHARES", "Part", "part_of", "share_pct"]

#: The ways in which a part may fail, with their meaning.
MODES: dict[Mode, str] = {
    "open": "no way through it, or it never acts",
    "short": "bridged, or always on",
    "drift": "another value: aged, worn, wet, wrong, silently off",
    "stuck": "holds one state or value, or is dead",
    "intermittent": "comes and goes: bounce, noise, oscillation, at the wrong moment",
}

#: Kind of part -> mode -> share of its failures [%], second-hand.
SHARES: dict[str, dict[Mode, int]] = {
    "resistor, film": {"open": 59, "drift": 36, "short": 5},
    "resistor, wirewound": {"open": 65, "drift": 26, "short": 9},
    "capacitor, ceramic": {"short": 49, "drift": 29, "open": 22},
    "MOSFET": {"short": 51, "drift": 17, "open": 5},
    "diode": {"short": 49, "open": 36, "drift": 15},
    "inductor": {"open": 42, "short": 42, "drift": 16},
    "connector": {"open": 61, "intermittent": 23, "short": 16},
    "switch": {"open": 65, "stuck": 19, "short": 16},
    "fuse": {"stuck": 49, "drift": 43, "open": 8},
    "thermistor": {"open": 63, "drift": 22, "short": 15},
    "cell, lithium": {"drift": 78, "short": 6, "open": 2},
    "lamp": {"open": 67},
}


@dataclass(frozen=True)
class Part:
    """One part of the circuit, or what belongs to its use.

    Attributes
    ----------
    name : as rows name it.
    group : the module of its rows.
    meaning : what it is.
    kind : its kind in `SHARES`; "" where nothing published was found.
    """

    name: str
    group: str
    meaning: str
    kind: str = ""


PARTS: tuple[Part, ...] = (
    # light
    Part("diode", "light", "the light source: a laser diode, an LED, a dummy string", "diode"),
    Part("diode connector", "light", "its leads and contacts", "connector"),
    Part("reverse diode", "light", "across the diode, takes the ring behind cut-off A", "diode"),
    Part("cut-off A", "light", "MOSFET in the diode's return, gate and pull-down", "MOSFET"),
    Part("cut-off B", "light", "the stage's enable"),
    Part("over-current comparator", "light", "on the monitor shunt"),
    Part("over-voltage comparator", "light", "on the output"),
    Part("comparator latch", "light", "set by either, cleared by an edge"),
    Part("dynamic enable", "light", "drops A without edges of completed ticks"),
    Part("gate logic", "light", "lets interlock, key and supervisor open A and B"),
    # stage
    Part("set path", "stage", "PWM, two-pole filter, divider, set input"),
    Part("stage switch", "stage", "the buck's high side, or the pass MOSFET", "MOSFET"),
    Part("freewheel switch", "stage", "the buck's low side", "MOSFET"),
    Part("stage control", "stage", "the stage's own controller and loop"),
    Part("inductor", "stage", "of the stage; leads and choke of a linear one", "inductor"),
    Part("own shunt", "stage", "what the stage regulates on", "resistor, wirewound"),
    Part("input capacitor", "stage", "at the stage's input", "capacitor, ceramic"),
    Part("output capacitor", "stage", "at the stage's output", "capacitor, ceramic"),
    Part("bleeder", "stage", "empties the output", "resistor, film"),
    Part("clamp", "stage", "takes the inductor's energy", "diode"),
    # sensing
    Part("monitor shunt", "sensing", "what comparator and law read", "resistor, wirewound"),
    Part("monitor amplifier", "sensing", "behind the shunt, with its filter"),
    Part("output divider", "sensing", "reads the output", "resistor, film"),
    Part("pack divider", "sensing", "reads the pack", "resistor, film"),
    Part("converter reference", "sensing", "what every code is a part of"),
    Part("converter", "sensing", "the controller's ADC"),
    Part("reference check", "sensing", "a known voltage of another source"),
    Part("multiplexer", "sensing", "five readings on one pin"),
    Part("indicator monitor", "sensing", "reads the indicator's current", "resistor, film"),
    # heat
    Part("mount sensor", "heat", "thermistor on the diode's mount", "thermistor"),
    Part("sink sensor", "heat", "thermistor on the sink", "thermistor"),
    Part("pad", "heat", "between mount and sink"),
    Part("sink", "heat", "gives the heat to the air"),
    Part("air", "heat", "around the build"),
    # power
    Part("pack", "power", "all cells together", "cell, lithium"),
    Part("cell", "power", "one of several", "cell, lithium"),
    Part("pack contact", "power", "holder, plug and leads of the pack", "connector"),
    Part("fuse", "power", "at the pack's terminal", "fuse"),
    Part("reverse protection", "power", "keeps a reversed pack out", "MOSFET"),
    Part("outside supply", "power", "charger, bench supply"),
    Part("logic rail", "power", "regulator and hold-up of the controller"),
    Part("supply supervisor", "power", "opens A and B at a low rail"),
    Part("ground", "power", "ground points, chassis, USB and bench grounds"),
    Part("insulation", "power", "of board and wiring"),
    # controls
    Part("trigger", "controls", "the contact that a hand holds", "switch"),
    Part("key", "controls", "key switch, two poles", "switch"),
    Part("interlock loop", "controls", "contacts of every cover, in a row", "switch"),
    Part("indicator", "controls", "the emission indicator", "lamp"),
    # controller
    Part("controller", "controller", "chip and its supply pin"),
    Part("controller timer", "controller", "clock and tick"),
    Part("controller program", "controller", "main loop and tick"),
    Part("watchdog", "controller", "resets a program that does not feed it"),
    Part("state word", "controller", "what the law remembers"),
    Part("settings word", "controller", "a limit in memory"),
    Part("flash", "controller", "program, settings, journal"),
    Part("self-test trickle", "controller", "2 mA into the output"),
)


def part_of(name: str) -> Part:
    """Return the part of that name; KeyError where there is none."""
    for part in PARTS:
        if part.name == name:
            return part
    raise KeyError(name)


def share_pct(name: str, mode: Mode) -> int | None:
    """Return the published share [%] of `mode` among failures of parts like `name`, or None."""
    return SHARES.get(part_of(name).kind, {}).get(mode)
