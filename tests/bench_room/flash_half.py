"""Power cut everywhere while a board is flashed: what its file system then holds.

Run in MicroPython as ``flash_half.py IMAGE LOG OLD NEW UNIT SEED STRIDE WAYS``: the image before,
all that was programmed and erased since, the files of old and new program as JSON (path to
SHA-256); every STRIDE-th byte is a cut, and an erase is cut in so many WAYS. Prints how many cuts
leave no program, the old one and the new one; any other mixture ends it.
"""

import gc
import hashlib
import json
import os
import random
import struct
import sys

import flash_cut
from diodedriver import settings
from flash import Flash, leave, mount
from flash_cut import cuts


def read_log(name):
    log = []
    with open(name, "rb") as file:
        while True:
            head = file.read(8)
            if not head:
                return log
            place, count = struct.unpack("<II", head)
            log.append((place, file.read(count)))


def hashed(path):
    digest = hashlib.sha256()
    with open(path, "rb") as file:
        while True:
            piece = file.read(1024)
            if not piece:
                break
            digest.update(piece)
    return "".join([f"{byte:02x}" for byte in digest.digest()])


def held():
    found = {name: hashed(name) for name in os.listdir() if name in ("boot.py", "main.py")}
    for name in os.listdir("diodedriver"):
        found["diodedriver/" + name] = hashed("diodedriver/" + name)
    return found


def kind(old, new, unit):
    """Say which whole program starts here, "none" where none does."""
    if "main.py" not in os.listdir():
        return "none"
    found = held()
    if found == new:
        settings.load(unit)
        return "new"
    assert found == old, "a program of which a part is another's would start"
    return "old"


def main():
    image, log, old, new, unit, seed, stride, flash_cut.ERASE_CUTS = sys.argv[1:9]
    flash_cut.ERASE_CUTS = int(flash_cut.ERASE_CUTS)
    random.seed(int(seed))
    with open(image, "rb") as file:
        before = file.read()
    with open(old) as file:
        old = json.load(file)
    with open(new) as file:
        new = json.load(file)
    counts = {"none": 0, "old": 0, "new": 0}
    now = bytearray(before)
    for half, name in cuts(before, read_log(log), int(stride)):
        now[:] = half
        flash = Flash(len(now) // 4096, now)
        try:
            mount(flash)
            counts[kind(old, new, unit)] += 1
        except Exception:
            print("cut at", name)
            raise
        leave(flash)
        gc.collect()
    print(json.dumps(counts))


main()
