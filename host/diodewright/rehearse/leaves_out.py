"""What no figure of a rehearsal knows of: the models' limits, the most telling first.

Each line begins with its subject in a few words, for a screen; behind the colon stands what is
taken instead. The docstrings of the plant's parts say the same of each part, at length.
"""

__all__ = ["LEAVES_OUT", "subject"]

LEAVES_OUT = (
    "typical parts: use, faults and edges run them, but the comparator, which stands at the worse "
    "end of its band; tolerances are in the margins alone, typical where no key gives them, and "
    "each part spreads by itself",
    "no wiring inductance but where an edge names it: an averaged circuit, edges apart, exact "
    "between their events, with ideal switches; no interference, and a stage's loop neither rings "
    "nor winds up",
    "no break of a contact below 10 us: nor a saturating inductor; edges take the typical input "
    "capacitor, leads and MOSFET capacitances",
    "no shorted inductor: the wiring that is left passes the absolute maximum within the "
    "comparator's microsecond, in every switching build here; it ends dark, the diode is lost. Two "
    "inductors in series would leave one",
    "no facet damage: laws of light and voltage hold from threshold to the rated current; no kinks",
    "no half-on MOSFET: slow gates, safe operating area and avalanche are not there, and one lump "
    "a channel is told too cool in bursts under a second",
    "no unequal or ageing cell: one resistance and one lag each, nothing warms it; a cell whose "
    "lag is another cell's sags up to a fifth too little within minutes",
    "no sun or moving air: one air temperature, still air as the build states it, one lump each "
    "for junction, mount and sink",
    "no uneven converter code: readings have lag, rounding, noise and drift; no aliasing",
)


def subject(line: str) -> str:
    """Return the subject of one such line; a line without one is its own."""
    return line.partition(": ")[0]
