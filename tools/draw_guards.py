"""Figures of the guards: comparators, latch and gating; the dynamic enable."""

import schemdraw.elements as e
from draw_tools import Drawing, arrow, box, dot, room, text, values, wire
from schemdraw import logic

__all__ = ["enable", "guards"]


def guards(d: Drawing) -> None:
    """Draw what sets the latch, and what A and B need."""
    of = values("smoke_tunnel")
    box(d, 2.4, 8.6, 5.0, 9.8, f"U2  {of['U2']}")
    arrow(d, (1.2, 9.2), (2.4, 9.2))
    text(d, (0.5, 9.2), "R4")
    rows = ((8.6, "U3", "over-current", of["U3"]), (5.6, "U4", "over-voltage", of["U4"]))
    for high, mark, words, at in rows:
        amp = d.add(e.Opamp(leads=True).theta(0).flip().anchor("in2").at((6.6, high + 0.6)))
        text(d, (amp.center[0] + 0.1, amp.center[1]), mark)
        text(d, (amp.center[0], amp.center[1] - 1.5), f"{words}: {at}")
        text(d, (5.7, amp.in1[1]), "own ref.")
        wire(d, amp.out, (10.4, amp.out[1]))
        wire(d, (10.4, amp.out[1]), (10.4, 7.6))
    wire(d, (5.0, 9.2), (6.6, 9.2))
    arrow(d, (1.2, 6.2), (6.6, 6.2))
    text(d, (0.4, 6.2), "R2 / R3")
    arrow(d, (10.4, 7.6), (11.4, 7.6))
    dot(d, (10.4, 7.6))
    box(d, 11.4, 6.6, 14.6, 8.6, "U5  LATCH\npowers up tripped\nreset by an edge")
    arrow(d, (13.0, 5.6), (13.0, 6.6))
    text(d, (13.0, 5.3), "reset pin")
    arrow(d, (14.0, 8.6), (14.0, 9.5))
    text(d, (14.0, 9.8), "latch pin (tripped)")
    wire(d, (14.6, 7.6), (18.4, 7.6))
    text(d, (16.2, 7.9), "not tripped")
    box(d, 18.4, 4.4, 20.0, 8.2, "ALL\nmust be\ntrue")
    names = ("interlock closed, S3", "key on, S2", "supply above U8")
    for place, name in enumerate(names):
        high = 6.6 - 0.9 * place
        wire(d, (17.8, high), (18.4, high))
        text(d, (17.7, high), name, align="right")
    wire(d, (20.0, 6.3), (20.8, 6.3))
    dot(d, (20.8, 6.3))
    for high, pin_words, name, end in (
        (8.4, "alive, U7", "U6", "R6: CUT-OFF A"),
        (4.2, "enable_b, U14", "", "R22, U1's enable: CUT-OFF B"),
    ):
        both = d.add(logic.And(inputs=2).theta(0).anchor("in2").at((24.2, high)))
        wire(d, (20.8, 6.3), (20.8, high), both.in2)
        wire(d, (23.8, both.in1[1]), both.in1)
        text(d, (23.7, both.in1[1]), pin_words, align="right")
        arrow(d, both.out, (both.out[0] + 0.6, both.out[1]))
        text(d, (both.out[0] + 0.8, both.out[1]), end, align="left")
        text(d, (both.out[0] - 0.9, both.out[1]), name)
    room(d, (30.3, 4.2), (-0.4, 6.2))


def enable(d: Drawing) -> None:
    """Draw pump, Schmitt gate, and the driver of cut-off A's gate."""
    of = values("smoke_tunnel")
    couple, store = of["C5 C6"].split(", ")
    top, ground, back = of["R11 R12 R13"].split(", ")
    text(d, (-1.0, 4.0), "pulse pin:\none edge a tick")
    d.add(e.Capacitor().at((0.4, 4.0)).to((3.0, 4.0)).label(f"C5  {couple}"))
    d.add(e.Schottky().at((3.0, 1.4)).to((3.0, 4.0)).label("D4", loc="top"))
    d.add(e.Schottky().at((3.0, 4.0)).to((5.4, 4.0)).label("D4"))
    wire(d, (5.4, 4.0), (9.8, 4.0))
    d.add(e.Capacitor().at((5.8, 4.0)).to((5.8, 1.4)).label(f"C6\n{store}", loc="bot"))
    d.add(e.Resistor().at((7.8, 4.0)).to((7.8, 1.4)).label(f"R10\n{of['R10']}", loc="bot"))
    dot(d, (3.0, 4.0), (5.8, 4.0), (7.8, 4.0))
    # its inverting input is the upper one: feedback goes to the other, or it is no Schmitt gate
    amp = d.add(e.Opamp(leads=True).theta(0).anchor("in1").at((9.8, 4.0)))
    text(d, (amp.center[0], amp.center[1]), "U7")
    wire(d, (3.0, 1.4), (7.8, 1.4))
    d.add(e.Ground().theta(0).at((5.8, 1.4)))
    node = (amp.in2[0], 0.2)
    wire(d, amp.in2, node)
    d.add(e.Resistor().at(node).to((node[0], -2.2)).label(f"R12\n{ground}", loc="top"))
    d.add(e.Ground().theta(0).at((node[0], -2.2)))
    d.add(e.Resistor().at((node[0] - 2.6, 0.2)).to(node).label(f"R11  {top}"))
    text(d, (node[0] - 3.2, 0.2), "3.3 V")
    d.add(e.Resistor().at(node).to((amp.out[0] + 0.4, 0.2)).label(f"R13  {back}", loc="bot"))
    wire(d, (amp.out[0] + 0.4, 0.2), (amp.out[0] + 0.4, amp.out[1]), amp.out)
    dot(d, node, (amp.out[0] + 0.4, amp.out[1]))
    arrow(d, (amp.out[0] + 0.4, amp.out[1]), (amp.out[0] + 1.6, amp.out[1]))
    text(d, (amp.out[0] + 1.8, amp.out[1]), "inverted, into U6:\nlow is alive", align="left")
    text(d, (node[0] + 0.6, -1.4), f"thresholds: {of['U7']}", align="left")
    _delay(d, of)
    room(d, (19.6, 3.0), (-2.2, -8.4))


def _delay(d: Drawing, of: dict[str, str]) -> None:
    """Draw the delay of cut-off B: R and C behind its pin, a diode back to it, its Schmitt gate."""
    ohm, farad = of["R24 C10"].split(", ")
    text(d, (-1.0, -5.0), "enable_b pin")
    d.add(e.Resistor().at((1.4, -5.0)).to((5.0, -5.0)).label(f"R24  {ohm}", loc="bot"))
    wire(d, (0.4, -5.0), (1.4, -5.0), (1.4, -3.8))
    d.add(e.Schottky().at((5.0, -3.8)).to((1.4, -3.8)).label("D7", loc="top"))
    wire(d, (5.0, -3.8), (5.0, -5.0), (9.8, -5.0))
    d.add(e.Capacitor().at((6.6, -5.0)).to((6.6, -7.4)).label(f"C10\n{farad}", loc="bot"))
    d.add(e.Ground().theta(0).at((6.6, -7.4)))
    dot(d, (1.4, -5.0), (5.0, -5.0), (6.6, -5.0))
    amp = d.add(e.Opamp(leads=True).theta(0).anchor("in1").at((9.8, -5.0)))
    text(d, (amp.center[0], amp.center[1]), "U14")
    low = (amp.in2[0], amp.in2[1] - 1.0)
    wire(d, amp.in2, low)
    text(d, (low[0], low[1] - 0.6), "R25 R26 R27,\nas R11 R12 R13")
    arrow(d, amp.out, (amp.out[0] + 1.6, amp.out[1]))
    text(
        d,
        (amp.out[0] + 1.8, amp.out[1]),
        "inverted, to the gate of B:\nlow is asked for",
        align="left",
    )
