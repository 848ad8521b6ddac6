"""Flash in memory for MicroPython's own littlefs, mounted as the board mounts its own."""

import os

import vfs

BLOCK = 4096
BLOCKS = 16
#: smallest program [bytes], as the board's own start-up script mounts its flash
PAGE = 256


class Flash:
    """A block device in memory. Silent once `dead`: an old mount must not write into a new one."""

    def __init__(self, blocks=BLOCKS, held=None) -> None:
        self.blocks = blocks
        self.held = held or bytearray(b"\xff" * (BLOCK * blocks))
        self.log = None
        self.erases = [0] * blocks
        self.dead = False

    def readblocks(self, block, buffer, offset=0):
        if self.dead:
            return -5
        start = block * BLOCK + offset
        buffer[:] = memoryview(self.held)[start : start + len(buffer)]
        return 0

    def writeblocks(self, block, buffer, offset=0):
        if self.dead:
            return -5
        start = block * BLOCK + offset
        if self.held[start : start + len(buffer)] != b"\xff" * len(buffer):
            raise RuntimeError("programmed bytes that were not erased")
        if self.log is not None:
            self.log.append((start, bytes(buffer)))
        self.held[start : start + len(buffer)] = buffer
        return 0

    def ioctl(self, op, block):
        if op == 4:
            return self.blocks
        if op == 5:
            return BLOCK
        if op == 6 and not self.dead:
            if self.log is not None:
                self.log.append((block * BLOCK, b""))
            self.erases[block] += 1
            self.held[block * BLOCK : block * BLOCK + BLOCK] = b"\xff" * BLOCK
        return 0


def mount(flash: Flash) -> None:
    """Mount it as the board does, and stand in its root."""
    vfs.mount(vfs.VfsLfs2(flash, progsize=PAGE), "/flash")
    os.chdir("/flash")


def leave(flash: Flash) -> None:
    """Power off: nothing of this mount reaches flash any more."""
    flash.dead = True
    os.chdir("/")
    vfs.umount("/flash")


def fresh(blocks=BLOCKS) -> Flash:
    flash = Flash(blocks)
    vfs.VfsLfs2.mkfs(flash, progsize=PAGE)
    return flash
