"""Heat: junction over mount over sink over air, a pass MOSFET on that sink, A's channel by itself.

Equations. Junction: one lump, exact exponential of its rise over the mount,
``rise' = P R + (rise - P R) exp(-dt/tau)``; what it does not store flows into the mount. The
linear stage's pass MOSFET likewise, over the sink that it is mounted on. Mount and sink: heat
capacities with ``C dT/dt = flow in - flow out`` (forward steps that conserve energy to the last
bit; their time constants are held thousands of sub-steps long by the parameters' ranges, or at
least tens at the ends). Channel of A: exact exponential towards ``ambient + theta P``.

Source. Thermal Ohm's law with JESD51 terms; a one-lump step is ``P R (1 - exp(-t/tau))``.

Validity. Junction times from about 1 ms up. The junction stores its rise over the mount, not its
temperature, and so errs by up to its part of the mount's heat capacity (3 % of the rise at a
19th, nothing to speak of at a real mount's thousands). One lump is right once settled only: a
published network of a MOSFET to air that agrees with one lump after 1 s is five times as hot
after 100 ms and eighteen times after 10 ms, so that short bursts through A, the pass MOSFET or a
package of several lumps are told too cool (a smaller time constant errs hot). Left out:
chip-scale heating within a millisecond (74 K per ms adiabatic at 4 W in a GaN laser chip), all
other losses of stage, shunt and cells (they heat neither mount nor sink here), radiation and
convection that change with temperature.
"""

from diodewright.plant.factors import faded
from diodewright.plant.kernel import Record, kernel


@kernel
def warm_up(p: Record, x: Record, dt_s: float) -> None:
    """Move all temperatures by a sub-step of `dt_s` [s] with the present heat."""
    end_K = x.heat_W * p.junction_mount_K_W
    risen_K = faded(end_K + (x.junction_rise_K - end_K) * p.junction_decay)
    kept_J = p.junction_J_K * (risen_K - x.junction_rise_K)
    x.junction_rise_K = risen_K
    to_sink_J = (x.mount_degC - x.sink_degC) * p.mount_sink_W_K * dt_s
    to_air_J = (x.sink_degC - p.ambient_degC) * p.sink_air_W_K * dt_s
    x.mount_degC += (x.heat_W * dt_s - kept_J - to_sink_J) * p.mount_K_J
    x.sink_degC += (to_sink_J - to_air_J) * p.sink_K_J
    x.junction_degC = x.mount_degC + risen_K
    x.air_J += to_air_J
    settled_degC = p.ambient_degC + x.a_loss_W * p.a_air_K_W
    x.a_degC = settled_degC + (x.a_degC - settled_degC) * p.a_decay


@kernel
def warm_pass(p: Record, x: Record, dt_s: float) -> None:
    """Move the linear stage's pass MOSFET by a sub-step of `dt_s` [s], and the sink under it."""
    end_K = x.pass_loss_W * p.pass_sink_K_W
    risen_K = end_K + (x.pass_rise_K - end_K) * p.pass_decay
    kept_J = p.pass_J_K * (risen_K - x.pass_rise_K)
    lost_J = x.pass_loss_W * dt_s
    x.pass_rise_K = risen_K
    x.sink_degC += (lost_J - kept_J) * p.sink_K_J
    x.pass_degC = x.sink_degC + risen_K
    x.pass_J += lost_J
