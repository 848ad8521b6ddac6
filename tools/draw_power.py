"""Figures of the power path: one a stage, pack on the left, diode and cut-off A on the right."""

import schemdraw.elements as e
from draw_tools import Drawing, arrow, box, dot, text, values, wire

__all__ = ["buck", "gated", "linear"]

TOP, GROUND = 6.0, 0.0
#: Where the stage begins.
STAGE = 9.4


def _down(d: Drawing, part: e.Element, at: float, words: str) -> None:
    """Draw a part from the top to ground, its words on the right."""
    d.add(part.at((at, TOP)).to((at, GROUND)).label(words, loc="bot"))
    dot(d, (at, TOP), (at, GROUND))


def _pack(d: Drawing, of: dict[str, str]) -> None:
    """Draw pack, fuse, reverse protection, input capacitor and suppressor."""
    d.add(e.Battery().at((0, GROUND)).to((0, TOP)).reverse().label("pack", loc="top"))
    d.add(e.FuseIEC().at((0, TOP)).to((2.9, TOP)).label(f"F1  {of['F1']}"))
    fet = d.add(e.PFet().theta(270).anchor("source").at((4.4, TOP)))
    text(d, (3.65, TOP + 0.5), "Q1")
    d.add(e.Resistor().at(fet.gate).to((fet.gate[0], GROUND)).label("10 kohm", loc="bot"))
    dot(d, (fet.gate[0], GROUND))
    wire(d, (4.4, TOP), (STAGE, TOP))
    arrow(d, (5.2, TOP), (5.2, TOP + 1.1))
    text(d, (5.2, TOP + 1.5), "F2, D5: controller's supply")
    dot(d, (5.2, TOP))
    _down(d, e.Capacitor(), 6.0, f"C1\n{of['C1']}")
    _down(d, e.DiodeTVS(), 7.8, f"D1\n{of['D1']}")


def _inputs(d: Drawing, at: float, bottom: float, *, settable: bool) -> None:
    """Draw what enters the stage from below: enable (B), and the set input where there is one."""
    if settable:
        arrow(d, (at, bottom - 1.4), (at, bottom))
        text(d, (at, bottom - 1.8), "set")
    arrow(d, (at + 1.6, bottom - 1.4), (at + 1.6, bottom))
    text(d, (at + 1.6, bottom - 2.0), "enable\nCUT-OFF B")


def _output(d: Drawing, of: dict[str, str], left: float) -> None:
    """Draw output capacitor, bleeder, clamp and trickle; then the diode's own loop."""
    at = [left + 0.6 + 2.1 * n for n in range(5)]
    wire(d, (left, TOP), (at[4], TOP))
    _down(d, e.Capacitor(), at[0], f"C2\n{of['C2']}")
    top, bottom = of["R2 R3"].split(" + ")
    d.add(e.Resistor().at((at[1], TOP)).to((at[1], 3.0)).label(f"R2\n{top}", loc="bot"))
    d.add(e.Resistor().at((at[1], 3.0)).to((at[1], GROUND)).label(f"R3\n{bottom}", loc="bot"))
    arrow(d, (at[1], 3.0), (at[1] + 0.7, 3.0))
    text(d, (at[1] + 1.3, 3.0), "U4, U10")
    dot(d, (at[1], TOP), (at[1], 3.0), (at[1], GROUND))
    _down(d, e.DiodeTVS(), at[2] + 0.4, f"D2\n{of['D2'].partition(' to ')[2]}")
    source = e.SourceI().at((at[3] + 0.3, GROUND)).to((at[3] + 0.3, TOP))
    d.add(source.label(f"Q3\n{of['Q3']}", loc="bot"))
    dot(d, (at[3] + 0.3, TOP), (at[3] + 0.3, GROUND))
    _loop(d, of, at[4])


def _loop(d: Drawing, of: dict[str, str], left: float) -> None:
    """Draw monitor shunt, diode, the diode across it, and cut-off A with its gate."""
    light = left + 4.4
    d.add(e.Resistor().at((left, TOP)).to((left + 3.0, TOP)).label(f"R4  {of['R4']}"))
    for end in (left + 0.5, left + 2.5):
        arrow(d, (end, TOP), (end, 4.9))
        dot(d, (end, TOP))
    text(d, (left + 1.5, 4.5), "U2, unfiltered")
    wire(d, (left + 3.0, TOP), (light, TOP), (light, 5.4))
    d.add(e.LED().at((light, 5.4)).to((light, 3.5)).label("diode", loc="top"))
    d.add(e.Schottky().at((light + 1.5, 3.5)).to((light + 1.5, 5.4)).label("D3", loc="bot"))
    wire(d, (light, 5.4), (light + 1.5, 5.4))
    wire(d, (light, 3.5), (light + 1.5, 3.5))
    dot(d, (light, 5.4), (light, 3.5))
    fet = d.add(e.NFet().theta(180).flip().anchor("source").at((light, 1.2)))
    wire(d, (light, 3.5), fet.drain)
    wire(d, fet.source, (light, GROUND))
    text(d, (light + 1.2, 2.0), "Q2\nCUT-OFF A")
    pull, high = light - 2.0, fet.gate[1]
    wire(d, fet.gate, (pull, high))
    d.add(e.Resistor().at((pull, high)).to((pull, GROUND)).label(f"R5\n{of['R5']}", loc="bot"))
    d.add(e.Resistor().at((pull - 2.2, high)).to((pull, high)).label(f"R6  {of['R6']}"))
    text(d, (pull - 2.6, high), "U6")
    dot(d, (pull, high), (pull, GROUND))
    wire(d, (0, GROUND), (light, GROUND))
    d.add(e.Ground().theta(0).at((light, GROUND)))
    text(d, (light - 3.6, -0.5), "one ground point: Q2, U1, U2, logic")


def buck(d: Drawing) -> None:
    """Draw the power path with a buck stage, the green laser's values."""
    of = values("smoke_tunnel")
    _pack(d, of)
    box(d, STAGE, 4.6, STAGE + 2.8, 7.2, "U1\nbuck")
    _inputs(d, STAGE + 0.6, 4.6, settable=True)
    end = STAGE + 7.4
    d.add(e.Inductor2().at((STAGE + 2.8, TOP)).to((end - 2.2, TOP)).label(f"L1  {of['L1']}"))
    d.add(e.Resistor().at((end - 2.2, TOP)).to((end, TOP)).label(f"R1  {of['R1']}"))
    text(d, (end - 1.1, 5.4), "U1's own")
    _output(d, of, end)


def linear(d: Drawing) -> None:
    """Draw the power path with a linear stage, the cave lamp's values."""
    of = values("cave_lamp")
    _pack(d, of)
    d.add(e.Resistor().at((STAGE, TOP)).to((STAGE + 2.2, TOP)).label(f"R1  {of['R1']}"))
    fet = d.add(e.PFet().theta(270).flip().anchor("source").at((STAGE + 2.6, TOP)))
    wire(d, (STAGE + 2.2, TOP), fet.source)
    text(d, (fet.gate[0], TOP + 0.5), f"Q4  {of['Q4']}")
    box(d, STAGE + 0.4, 3.2, STAGE + 4.2, 4.4, "U1 error amplifier on R1")
    wire(d, fet.gate, (fet.gate[0], 4.4))
    _inputs(d, STAGE + 1.4, 3.2, settable=True)
    end = STAGE + 6.8
    d.add(e.Inductor2().at(fet.drain).to((end, TOP)).label(f"L1  {of['L1']}"))
    _output(d, of, end)


def gated(d: Drawing) -> None:
    """Draw the power path with a module of fixed current, the gel viewer's values."""
    of = values("gel_viewer")
    _pack(d, of)
    most = of["U1"].split(", ")[1]
    words = f"U1, L1, R1\nmodule of fixed current\n{most} at most"
    box(d, STAGE, 4.4, STAGE + 4.4, 7.4, words)
    _inputs(d, STAGE + 1.2, 4.4, settable=False)
    wire(d, (STAGE + 4.4, TOP), (STAGE + 5.0, TOP))
    _output(d, of, STAGE + 5.0)
