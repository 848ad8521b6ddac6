"""Run in MicroPython: print what imports and the booted program take of the heap [bytes].

Arguments: a folder to run in, the chip's number. The simulated board's `machine` stands for it.
"""

import gc
import os
import sys

import machine

os.chdir(sys.argv[1])
machine._unit = bytes.fromhex(sys.argv[2])
gc.collect()
begin = gc.mem_alloc()
from diodedriver import run  # noqa: E402
from diodedriver.board import Board  # noqa: E402
from diodedriver.pins import RP2040  # noqa: E402

gc.collect()
imported = gc.mem_alloc()
for name in RP2040:
    machine._names[RP2040[name]] = name
program = run.Program(Board())
program.start()
gc.collect()
booted = gc.mem_alloc()
if program.driver.barred_by:
    raise RuntimeError(program.driver.barred_by)
print(imported - begin, booted - imported)
