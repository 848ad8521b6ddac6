"""A rig that moves the plant by law-less ticks, uncompiled or compiled.

The figures are those of a small invented laser light: see the shipped example build.
"""

import ast
import importlib
import importlib.util
import sys
from collections.abc import Callable
from pathlib import Path
from types import ModuleType, SimpleNamespace
from typing import Any

import pytest

from diodewright import plant
from diodewright.plant import record
from diodewright.plant.params import PARAM_RECORD, STATE, index_of

DT_s = 0.00025
STEPS_A_TICK = 4

#: Open-circuit points of PyBaMM's parameter set Chen2020 (LG M50, 25 degC).
SOC = [0, 0.01, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1]
OCV = [2.5, 2.711, 3.109, 3.296, 3.485, 3.581, 3.667, 3.751, 3.841, 3.948, 4.042, 4.097, 4.2]

LASER: dict[str, Any] = {
    "cells_series": 2,
    "cell_capacity_Ah": 2.6,
    "cell_R0_ohm": 0.026,
    "cell_R1_ohm": 0.039,
    "ocv_soc": SOC,
    "ocv_V": OCV,
    "wiring_ohm": 0.06,
    "set_full_A": 1.65,
    "inductor_H": 47e-6,
    "switching_Hz": 400e3,
    "output_clamp_V": 8.0,
    "trip_A": 1.75,
    "trip_V": 5.5,
    "diode_a_V": 3.85,
    "diode_rs_ohm": 0.55,
    "diode_tempco_V_K": -0.003,
    "threshold_A": 0.25,
    "threshold_T0_K": 170,
    "slope_W_A": 0.85,
    "slope_T1_K": 300,
    "junction_mount_K_W": 7,
    "mount_J_K": 12,
    "mount_sink_K_W": 1.2,
    "sink_J_K": 60,
    "sink_air_K_W": 5,
    "ambient_degC": 30,
}

RUN = '''
@kernel
def run_ticks(p, x, ticks, steps, dt_s):
    """Return the highest peak, with the dynamic enable's edge once a tick."""
    peak_A = 0.0
    for _ in range(ticks):
        x.pulse_edge = 1.0
        for _ in range(steps):
            advance(p, x, dt_s)
            if x.diode_peak_A > peak_A:
                peak_A = x.diode_peak_A
    return peak_A


@kernel
def read_codes(p, x):
    """Return the codes of all seven readings."""
    top_V = ref_V(p, x)
    return (
        adc_code(current_pin_V(p, x), top_V, noise_lsb(p, x)),
        adc_code(output_pin_V(p, x), top_V, noise_lsb(p, x)),
        adc_code(pack_pin_V(p, x), top_V, noise_lsb(p, x)),
        adc_code(mount_pin_V(p, x), top_V, noise_lsb(p, x)),
        adc_code(sink_pin_V(p, x), top_V, noise_lsb(p, x)),
        adc_code(check_pin_V(p, x), top_V, noise_lsb(p, x)),
        adc_code(indicator_pin_V(p, x), top_V, noise_lsb(p, x)),
    )
'''


def _kernel_source() -> str:
    """Return all kernel modules as one source, without imports and annotations."""
    parts = []
    for name in plant.MODULES:
        module = importlib.import_module(f"diodewright.plant.{name}")
        tree = ast.parse(Path(str(module.__file__)).read_text())
        for node in tree.body:
            if isinstance(node, ast.Import | ast.ImportFrom):
                continue
            if isinstance(node, ast.FunctionDef):
                node.returns = None
                for argument in node.args.args:
                    argument.annotation = None
            parts.append(ast.unparse(node))
    return "\n".join(parts) + RUN


def _load(path: Path) -> ModuleType:
    """Import a generated module from its file."""
    spec = importlib.util.spec_from_file_location(path.stem, path)
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[path.stem] = module
    spec.loader.exec_module(module)
    return module


def _engine(folder: Path, name: str, head: str) -> ModuleType:
    path = folder / f"{name}.py"
    path.write_text(f"import math\n{head}\n{_kernel_source()}")
    return _load(path)


@pytest.fixture(scope="session")
def uncompiled_engine() -> Any:
    """Return the plant's own functions, as they stand."""
    engine = SimpleNamespace()
    for name in plant.MODULES:
        module = importlib.import_module(f"diodewright.plant.{name}")
        for key, value in vars(module).items():
            setattr(engine, key, value)
    scope = vars(engine) | {"kernel": lambda function: function}
    exec(RUN, scope)
    engine.run_ticks = scope["run_ticks"]
    engine.read_codes = scope["read_codes"]
    return engine


@pytest.fixture(scope="session")
def compiled_engine(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """Return all kernel modules put together and compiled as the sim room does it."""
    numba = pytest.importorskip("numba")
    assert numba.__version__
    head = "import numba\nkernel = numba.njit(nogil=True)"
    return _engine(tmp_path_factory.mktemp("compiled"), "plant_compiled_in_test", head)


class Rig:
    """A plant with its engine; attributes `p` and `x` are the records."""

    def __init__(self, engine: Any, compiled: bool, changes: dict[str, Any]) -> None:
        state = {name: changes.pop(name) for name in list(changes) if name in index_of(STATE)}
        self.engine = engine
        self.dt_s = DT_s
        self.steps = STEPS_A_TICK
        self.params = record.make(PARAM_RECORD, LASER | changes, compiled=compiled)
        self.state = record.make(STATE, {"latch": 0} | state, compiled=compiled)
        self.p = self.params.record
        self.x = self.state.record
        engine.prepare(self.p, self.dt_s)
        engine.settle(self.p, self.x)

    def change(self, **values: float) -> None:
        """Change parameters, as a fault event does, and prepare again."""
        places = index_of(PARAM_RECORD)
        for name, value in values.items():
            self.params.flat[places[name]] = value
        self.engine.prepare(self.p, self.dt_s)

    def split(self, parts: int) -> "Rig":
        """Cut every sub-step into `parts`."""
        self.dt_s /= parts
        self.steps *= parts
        self.engine.prepare(self.p, self.dt_s)
        return self

    def put(self, **values: float) -> None:
        """Change state values (the law's outputs)."""
        places = index_of(STATE)
        for name, value in values.items():
            self.state.flat[places[name]] = value

    def ticks(self, count: int) -> float:
        """Run `count` ticks of 1 ms with the dynamic enable alive; return the highest peak [A]."""
        return float(self.engine.run_ticks(self.p, self.x, count, self.steps, self.dt_s))

    def step(self) -> None:
        """Run one sub-step, with no edge."""
        self.engine.advance(self.p, self.x, self.dt_s)

    def peaks(self, ticks: int) -> dict[str, float]:
        """Run `ticks` by sub-steps; return the highest values, and the pack's lowest voltage."""
        names = ("diode_peak_A", "output_peak_V", "junction_degC", "light_W", "pass_degC")
        tops = dict.fromkeys(names, 0.0)
        low_V = 1e9
        for _ in range(ticks):
            self.x.pulse_edge = 1.0
            for _ in range(self.steps):
                self.step()
                for name in tops:
                    tops[name] = max(tops[name], getattr(self.x, name))
                low_V = min(low_V, self.x.pack_V)
        return tops | {"pack_V": low_V}

    def light(self, set_A: float = 1.5, ticks: int = 20) -> None:
        """Enable at `set_A` [A] (at the healthy rail) and run `ticks`."""
        self.put(enable_b=1, duty=set_A / self.p.set_full_A)
        self.ticks(ticks)


@pytest.fixture(params=[0, 1, 2], ids=["buck", "linear", "gated"])
def stage_kind(request: pytest.FixtureRequest) -> int:
    """Return each kind of stage in turn."""
    return int(request.param)


@pytest.fixture
def rig(uncompiled_engine: Any) -> Callable[..., Rig]:
    """Return a maker of uncompiled rigs: ``rig(trip_A=2, soc=0.5)``."""
    return lambda **changes: Rig(uncompiled_engine, False, changes)


@pytest.fixture
def fast_rig(compiled_engine: Any) -> Callable[..., Rig]:
    """Return a maker of compiled rigs, for runs of many seconds."""
    return lambda **changes: Rig(compiled_engine, True, changes)
