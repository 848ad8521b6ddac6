"""Edges: what happens within microseconds, at the resolution of a switch that opens or closes.

Transients that decide whether a part survives, each a pure function of plain values:
`turn_on`, `trip` (the comparator and its latch; a stage stuck full on, cut-off A in either place),
`reconnect`, `turn_off`, `gate`, `insertion`, `supply`, `pump` (the dynamic enable). Between two
events (a switch, a diode that begins or ends to conduct, a comparator) a circuit is linear here;
`circuit` steps it exactly and finds the next event. Nothing here knows a build file: what a
build's values are is `derive.edges`' to say.

Each is checked against a circuit simulation of the same case (`hardware_notes/netlists`).
"""
