"""A build's lamp at power-up, ready to light: under its own settings and plant, or changed ones."""

from collections.abc import Mapping

from diodedriver import words
from diodewright.build import Build
from diodewright.derive import plant_values, settings
from diodewright.sim import Event, Machine, compiled, new_tally, power_up
from diodewright.sim.scenario import lamp_use

#: Dark with the controller on before anything is asked of it [s]: its estimates have settled.
REST_S = 20


def powered(
    build: Build,
    charge: float = 1.0,
    laws: Mapping[str, int] | None = None,
    plants: Mapping[str, object] | None = None,
) -> Machine:
    """Return a lamp that has rested, its heat budget empty as after a long rest.

    `charge` is its pack's [0 to 1]; `laws` and `plants` are settings words and plant parameters
    that differ from what the build gives.
    """
    machine = power_up(
        compiled(),
        plant_values(build) | dict(plants or {}),
        settings(build) | dict(laws or {}),
        {"soc": charge},
    )
    machine.run(1000 * REST_S, new_tally(machine.engine, 0.01))
    machine.state[words.index(words.STATE, "budget")] = 0
    return machine


def held(machine: Machine, build: Build, seconds: float) -> tuple[Event, ...]:
    """Return the press and the release of a light of `seconds` [s], its delay besides."""
    press = machine.now + 1000
    return lamp_use(press, press + round(1000 * (build.limits.delay_s + seconds)))
