"""The plant: what the parts of a light source do, one module a part.

`params` lists every parameter and state; `record` builds them; `factors.prepare` readies a
parameter record for a sub-step; `step.settle` puts the state at rest; `step.advance` moves it by
one sub-step. See `kernel` for the style that lets the same functions run compiled and not.
"""

__all__ = ["MODULES"]

#: Kernel modules in the order in which they are put together for compiling.
MODULES = (
    "factors",
    "near",
    "pack",
    "switch",
    "diode",
    "comparator",
    "gated",
    "stage",
    "buck",
    "linear",
    "dropout",
    "lit",
    "circuit",
    "heat",
    "sensors",
    "step",
)
