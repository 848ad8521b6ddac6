"""The contact under the finger and the gate it spares: currents with and without a MOSFET.

A trigger that only tells a pin carries what the pin's own pull resistor lets through: 50 to 80 kohm
(data sheet of an RP2040-class controller). A gate driven by a pin is sure of 2.62 V (the same).
"""

from diodewright.build import Build
from diodewright.derive.board import PIN_HIGH_V, PIN_PULL_MIN_OHM, RAIL_V
from diodewright.size.figure import Figure
from diodewright.size.survey import Survey

__all__ = ["contact_A", "contacts"]


def contact_A() -> float:
    """Return what the trigger's contact carries [A] where it only tells a pin."""
    return RAIL_V / PIN_PULL_MIN_OHM


def contacts(build: Build, found: Survey) -> list[Figure]:
    """Return the contact's currents and the gate's drive."""
    bare_A = max(found.cool.diode_A, found.cool.pack_A)
    times = bare_A / build.switch.rated_A
    return [
        Figure(
            "contact_mA",
            1000 * contact_A(),
            "mA",
            "trigger: it tells a pin, a MOSFET carries",
            "so little current needs a contact for small signals",
        ),
        Figure(
            "contact_bare_A",
            bare_A,
            "A",
            f"without the MOSFET: {times:.2g} times its rating",
            "inrush, arc",
        ),
        Figure(
            "gate_spare_V",
            PIN_HIGH_V - build.cutoffs.a_vgs_guaranteed_V,
            "V",
            f"a pin is sure of {PIN_HIGH_V:g} V",
            "the gate's series resistor, a cold threshold",
        ),
    ]
