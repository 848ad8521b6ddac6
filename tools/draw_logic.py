"""Figures of set path, supply and readings."""

import re

import schemdraw.elements as e
from draw_tools import Drawing, arrow, box, dot, room, text, values, wire

from diodedriver import words

__all__ = ["readings", "set_path", "supply"]


def _ground(d: Drawing, at: float, high: float) -> None:
    d.add(e.Ground().theta(0).at((at, high)))


def set_path(d: Drawing) -> None:
    """Draw the two poles and the resistor that makes the divider."""
    of = values("smoke_tunnel")
    first, second = (words.split(", ") for words in (of["R7 C3"], of["R8 C4"]))
    text(d, (-0.8, 3.0), "set pin:\nPWM")
    d.add(e.Resistor().at((0.4, 3.0)).to((3.6, 3.0)).label(f"R7  {first[0]}"))
    d.add(e.Resistor().at((3.6, 3.0)).to((7.8, 3.0)).label(f"R8  {second[0]}"))
    wire(d, (7.8, 3.0), (12.6, 3.0))
    text(d, (9.2, 3.35), "wire to the stage")
    for at, part, label in (
        (4.0, e.Capacitor(), f"C3\n{first[1]}"),
        (11.0, e.Capacitor(), f"C4\n{second[1]}"),
        (12.6, e.Resistor(), f"R9\n{of['R9']}"),
    ):
        d.add(part.at((at, 3.0)).to((at, 0.0)).label(label, loc="bot"))
        dot(d, (at, 3.0))
    arrow(d, (12.6, 3.0), (14.6, 3.0))
    text(d, (14.8, 3.0), "U1's set input", align="left")
    wire(d, (4.0, 0.0), (12.6, 0.0))
    _ground(d, 8.6, 0.0)
    room(d, (17.2, 3.0), (-1.6, 3.0))


def supply(d: Drawing) -> None:
    """Draw the controller's supply, its supervisor, and the loops of interlock and key."""
    of = values("smoke_tunnel")
    text(d, (-0.9, 6.0), "behind Q1")
    room(d, (22.0, 4.0), (-1.6, 6.0))
    d.add(e.FuseIEC().at((0, 6.0)).to((2.6, 6.0)).label(f"F2  {of['F2']}"))
    d.add(e.Schottky().at((2.6, 6.0)).to((5.0, 6.0)).label("D5"))
    wire(d, (5.0, 6.0), (7.4, 6.0))
    held = of["D5 C8"].split(", ")[0]
    d.add(e.Capacitor(polar=True).at((5.6, 6.0)).to((5.6, 3.6)).label(f"C8\n{held}", loc="bot"))
    _ground(d, 5.6, 3.6)
    box(d, 7.4, 5.2, 10.2, 6.8, "U9\nregulator")
    wire(d, (10.2, 6.0), (17.4, 6.0))
    text(d, (18.6, 6.0), "3.3 V logic, U13")
    d.add(e.Schottky().at((10.8, 8.2)).to((10.8, 6.0)).label("D6", loc="bot"))
    text(d, (10.8, 8.5), "USB, own regulator")
    d.add(e.Capacitor().at((12.4, 6.0)).to((12.4, 3.6)).label(f"C7\n{of['C7']}", loc="bot"))
    _ground(d, 12.4, 3.6)
    arrow(d, (15.0, 6.0), (15.0, 4.8))
    box(d, 13.8, 3.2, 17.0, 4.8, f"U8 supervisor\n{of['U8']}")
    arrow(d, (17.0, 4.0), (18.2, 4.0))
    text(d, (18.4, 4.0), "to the gate that needs all", align="left")
    dot(d, (5.6, 6.0), (10.8, 6.0), (12.4, 6.0), (15.0, 6.0))
    fields = of["S2 S3"].partition(": ")[2].split(", ")
    loops = ((1.0, "S3 interlock: every cover, connector"), (-2.4, "S2 key: second pole"))
    for high, name in loops:
        low = high - 2.0
        text(d, (-0.8, high), "3.3 V")
        d.add(e.Switch().at((0.0, high)).to((4.0, high)).label(name))
        wire(d, (4.0, high), (5.6, high))
        d.add(e.Resistor().at((4.8, high)).to((4.8, low)).label(f"R14\n{fields[0]}", loc="top"))
        _ground(d, 4.8, low)
        d.add(e.Resistor().at((5.6, high)).to((8.6, high)).label(f"R15  {fields[1]}"))
        wire(d, (8.6, high), (10.4, high))
        d.add(e.Capacitor().at((9.2, high)).to((9.2, low)).label(f"C9\n{fields[2]}", loc="bot"))
        _ground(d, 9.2, low)
        box(d, 10.4, high - 0.5, 12.4, high + 0.5, "Schmitt")
        arrow(d, (12.4, high), (14.0, high))
        text(d, (14.2, high), "to the gate that needs all, and a pin", align="left")
        dot(d, (4.8, high), (9.2, high))


def readings(d: Drawing) -> None:
    """Draw what the three analogue pins see."""
    of = values("smoke_tunnel")
    rows = (
        (9.0, "U2: diode current", "100 ohm, 100 nF", "current"),
        (7.6, "R2 / R3: output", "U10 follower", "output"),
    )
    for high, source, way, pin in rows:
        text(d, (0.0, high), source)
        arrow(d, (1.8, high), (3.4, high))
        box(d, 3.4, high - 0.45, 7.0, high + 0.45, way)
        arrow(d, (7.0, high), (11.4, high))
        text(d, (12.4, high), f"{pin} pin")
    top, bottom = of["R16 R17"].split(" + ")
    lamp = of["H1 R20 R21"].split(", ")
    sources = {
        "pack": f"pack: R16 {top}, R17 {bottom}, U10 follower",
        "reference": f"U12, check: {of['U12']}",
        "indicator": f"H1, indicator: {lamp[0]}, R20 {lamp[1]}, R21 {lamp[2]}",
        "mount": f"RT1, mount: R18 {of['R18 R19']} to 3.3 V",
        "sink": f"RT2, sink: R19 {of['R18 R19']} to 3.3 V",
    }
    box(d, 7.4, 0.4, 10.4, 6.4, "U11\nmultiplexer")
    for channel, name in enumerate(_channels()):
        high = 5.9 - 1.2 * channel
        text(d, (5.9, high), sources[name], align="right")
        arrow(d, (6.1, high), (7.4, high))
        text(d, (7.7, high), str(channel))
    arrow(d, (10.4, 3.4), (11.4, 3.4))
    text(d, (12.4, 3.4), "mux pin")
    arrow(d, (8.7, -0.8), (8.7, 0.4))
    text(d, (8.7, -1.1), "mux_0 to mux_2: one channel a tick")
    room(d, (-2.6, 3.0), (13.4, 3.0))


def _channels() -> list[str]:
    """Return the multiplexer's channels in their order, as the law's table of readings has them."""
    (meaning,) = [row[-1] for row in words.RAW if row[0] == "mux_channel"]
    return re.findall(r"\d (\w+)", meaning)
