"""What has no row: every pair of part and mode that the catalogue leaves out, and why.

A reason that begins with ``as`` and row ids says that the circuit is then the same as in those
rows. All others say why there is nothing to show, or what is not modelled: the latter begin with
``not shown``.
"""

from diodewright.faults.fault import Mode

__all__ = ["UNSHOWN"]

_STATE = "no such way: it holds no state"
_HEALTHY = "no such way: this is what it does in health"
_LOGIC = "no such way: it is on or off"

_BY_PART: dict[str, dict[Mode, str]] = {
    "reverse diode": {
        "open": "not shown: the ring behind cut-off A then reaches the diode; edge-reverse judges "
        "it with the part fitted, and nothing tests the part",
        "short": "as diode-short: the current passes beside the diode",
        "drift": "not shown: leakage takes a part of the current, which the trim makes up for",
        "stuck": _STATE,
        "intermittent": "as diode-short for a moment, or as open",
    },
    "diode connector": {
        "open": "as diode-open",
        "short": "as diode-short",
        "stuck": _STATE,
    },
    "diode": {
        "stuck": _STATE,
        "intermittent": "as connector-bounce: whichever of diode and lead opens",
    },
    "cut-off B": {
        "open": "as stage-off: never enabled",
        "stuck": "as b-stuck, or as stage-off",
        "intermittent": "as stage-off for a moment, and latched by then",
    },
    "over-current comparator": {
        "open": "as overcurrent-dead",
        "short": "as latch-spurious, without end",
        "intermittent": "as latch-spurious",
    },
    "over-voltage comparator": {
        "open": "as overvoltage-dead",
        "short": "as latch-spurious, without end",
        "intermittent": "as latch-spurious",
    },
    "comparator latch": {
        "short": "as latch-spurious, without end",
        "drift": _LOGIC,
    },
    "dynamic enable": {
        "open": "as a-open: A is never driven",
        "short": "as enable-stuck",
        "intermittent": "as a-open for a moment, and latched by then",
    },
    "gate logic": {
        "open": "as supervisor-early: A and B are held open",
        "short": "as gates-dead",
        "drift": _LOGIC,
        "intermittent": "as supervisor-early for a moment, and latched by then",
    },
    "stage switch": {
        "stuck": "as stage-full-on, or as stage-off",
        "intermittent": "as stage-off, or as stage-full-on, for a moment, and latched by then",
    },
    "freewheel switch": {
        "drift": "as freewheel-open, but less",
        "stuck": "as freewheel-short, or as freewheel-open",
        "intermittent": "as freewheel-short for a moment",
    },
    "stage control": {
        "open": "as stage-off",
        "short": "as stage-full-on",
        "drift": "as own-shunt-drift: its threshold and its shunt are one to the current",
        "stuck": "as stage-full-on, or as stage-off",
    },
    "inductor": {
        "open": "as stage-off",
        "stuck": _STATE,
        "intermittent": "as stage-off for a moment, and latched by then",
    },
    "own shunt": {
        "open": "as stage-off: it lies in the current's way",
        "stuck": _STATE,
        "intermittent": "as own-shunt-short for a moment, or as stage-off",
    },
    "input capacitor": {
        "open": "not shown: the stage draws its ripple over the pack's leads; no input capacitor "
        "is modelled beside the pack's insertion",
        "short": "as pack-lost: the pack is shorted until the fuse opens",
        "drift": "as open, but less",
        "stuck": _STATE,
        "intermittent": "as pack-bounce",
    },
    "output capacitor": {
        "drift": "as output-cap-open, but less; ageing makes none larger",
        "stuck": _STATE,
        "intermittent": "as output-short for a moment, and latched by then",
    },
    "bleeder": {
        "short": "as output-short",
        "drift": "as bleeder-open, but less",
        "stuck": _STATE,
        "intermittent": "as bleeder-open for a moment",
    },
    "clamp": {
        "short": "as output-short",
        "drift": "as clamp-open, but less; one that conducts at the diode's voltage as "
        "output-short",
        "stuck": _STATE,
        "intermittent": "as clamp-open for a moment",
    },
    "monitor shunt": {
        "open": "as diode-open: it lies in the current's way",
        "short": "as monitor-open: no voltage across it",
        "stuck": _STATE,
        "intermittent": "as connector-bounce",
    },
    "converter reference": {
        "open": "as reference-sag, and further down",
        "stuck": "no such way: it has one value; a wrong one is drift",
        "intermittent": "as converter-noisy, or as reference-sag for a moment",
    },
    "converter": {
        "open": "as monitor-open, output-open, mux-stuck: each of its three pins by itself",
        "short": "as monitor-railed, output-railed: each pin by itself",
        "drift": "as reference-drift; codes that are uneven near 512, 1536, 2560 and 3584 are not "
        "modelled",
        "stuck": "as monitor-frozen, output-frozen: each pin by itself; all three at once are held "
        "as well, then only heat budget and hardware are left",
    },
    "reference check": {
        "intermittent": "as check-open for a moment; its row counts three rounds",
    },
    "multiplexer": {
        "short": "as mux-bit-low: of two address lines that are bridged one follows the other",
        "intermittent": "as mount-ntc-loose, pack-read-loose: a wrong reading now and then",
    },
    "indicator monitor": {
        "drift": "as lamp-read-open or lamp-read-railed beyond its window, else of no effect",
        "intermittent": "as indicator-flickers",
    },
    "pad": {
        "short": _HEALTHY,
        "drift": "as sink-off, but less",
        "stuck": _STATE,
        "intermittent": "as sink-off; what comes back cools it",
    },
    "sink": {
        "open": "as sink-off: the mount alone",
        "short": _HEALTHY,
        "stuck": _STATE,
        "intermittent": "as air-blocked; what comes back cools it",
    },
    "air": {
        "open": "as air-blocked",
        "short": _HEALTHY,
        "stuck": _STATE,
        "intermittent": "as ambient-step",
    },
    "pack": {
        "open": "as pack-lost",
        "short": "as pack-lost: the fuse opens; fuse and cells themselves are not modelled",
        "stuck": _STATE,
        "intermittent": "as pack-bounce",
    },
    "cell": {
        "open": "as pack-lost; of several side by side as pack-cold",
        "drift": "not shown: of cells in series only the sum is read. One weak cell may stand at "
        "the loaded minimum less what the others hold (two cells: 6.0 V - 4.2 V = 1.8 V), below "
        "its own minimum, and nothing sees it; sort cells, or read each",
        "stuck": _STATE,
        "intermittent": "as pack-bounce",
    },
    "pack contact": {
        "short": "as pack-lost: a shorted holder opens the fuse",
        "stuck": _STATE,
    },
    "fuse": {
        "open": "as pack-lost",
        "short": "not shown: it guards wiring and cells, which are not modelled; bridged, it is "
        "seen by nothing but eyes",
        "drift": "not shown: opens late; it guards wiring and cells, which are not modelled. Try "
        "one of the lot",
        "stuck": "not shown: never opens, as short",
        "intermittent": "as pack-bounce",
    },
    "reverse protection": {
        "open": "as pack-lost",
        "short": "not shown: latent; a reversed pack then reaches stage and controller, and "
        "nothing on the board can see it before",
        "drift": "as contact-ohmic",
        "stuck": "as pack-lost, or as short",
        "intermittent": "as pack-bounce",
    },
    "outside supply": {
        "open": "as pack-lost",
        "short": "as pack-lost: nothing is left to feed the stage",
        "intermittent": "as pack-bounce",
    },
    "logic rail": {
        "stuck": "as rail-high, rail-drift or rail-lost",
    },
    "supply supervisor": {
        "open": "as supervisor-dead",
        "short": "as supervisor-early, without end",
        "intermittent": "as supervisor-early for a moment, and latched by then",
    },
    "ground": {
        "open": "not shown: all readings float by what the lost way carries; no ground impedance "
        "is modelled. All in the loop meets at one point",
        "drift": "as monitor-drift-silent: millivolts on the ground are amperes on a shunt",
        "stuck": _STATE,
        "intermittent": "as case-grounded for a moment",
    },
    "insulation": {
        "open": _HEALTHY,
        "short": "as case-grounded, a-short, output-short: whichever it bridges",
        "stuck": _STATE,
        "intermittent": "as moisture",
    },
    "trigger": {
        "drift": _LOGIC,
    },
    "key": {
        "drift": _LOGIC,
        "stuck": "as key-stuck, or as key-off",
    },
    "interlock loop": {
        "drift": _LOGIC,
        "stuck": "as interlock-bridged, or as interlock-open",
    },
    "indicator": {
        "drift": "as indicator-dead below its window, else of no effect",
        "stuck": "as indicator-dead; one that stays lit is found by the self-test's step "
        '"lamp off"',
    },
    "controller": {
        "open": "as rail-lost: without supply its pins float",
        "short": "not shown: pins that fail one by one are those of set path, cut-offs and "
        "readings; several at once are not modelled. A, B and their pull-downs stay",
        "drift": "as rail-drift, rail-high: what its supply is",
        "stuck": "as ticks-dead: pins as they are, no edges",
    },
    "controller timer": {
        "open": "as ticks-dead",
        "short": "not shown: ticks without a pause are ticks that come early; the law counts "
        "ticks, so that its times shrink, and no clock of another source is compared",
    },
    "controller program": {
        "short": "as main-hung: a loop that is never left",
        "drift": "as ticks-slow, main-hung: what runs too slowly",
    },
    "watchdog": {
        "open": "as main-hung, ticks-dead: both go dark without it; it only starts the program "
        "anew",
        "short": "as watchdog-bites, without end",
        "drift": "as watchdog-bites, sooner or later",
        "stuck": "as main-hung, ticks-dead: both go dark without it",
    },
    "state word": {
        "open": "no such way: a word has a value",
        "short": "no such way: a word has a value",
    },
    "settings word": {
        "open": "no such way: a word has a value",
        "short": "no such way: a word has a value",
        "stuck": "as limit-flipped: a bit that is stuck differs from its complement",
        "intermittent": "as limit-flipped: it latches at the first tick",
    },
    "flash": {
        "short": "no such way: a bit flips, or can't be read",
        "stuck": "as flash-unreadable, or as settings-flipped: what is written is read back",
    },
    "self-test trickle": {
        "short": "not shown: milliamperes into a clamp below the over-voltage trip; dark_mA sees "
        "what a diode gets of them",
        "drift": "as trickle-dead, where the knee is not reached",
        "stuck": "as trickle-dead, or as short",
        "intermittent": "as trickle-dead at one start and not at the next",
    },
}

#: (part, mode) -> why there is no row.
UNSHOWN: dict[tuple[str, Mode], str] = {
    (part, mode): reason for part, reasons in _BY_PART.items() for mode, reason in reasons.items()
}
