"""The flash as a block device over a file, and the board's file system on it.

Where a file with the image's name and ".log" lies beside it, each program and erase is appended to
that: place and number of bytes, the bytes; a number of 0 is an erase. Tests cut power with it.
"""

import struct

import vfs

BLOCK = 4096
# as the board mounts it: what one program takes
PROGRAM = 256


class Image:
    """The flash without a clock."""

    def __init__(self, path, blocks):
        self.file = open(path, "r+b")
        self.log = None
        try:
            open(path + ".log", "rb").close()
            self.log = open(path + ".log", "ab")
        except OSError:
            pass
        self.blocks = blocks

    def readblocks(self, block, buffer, offset=0):
        self.file.seek(block * BLOCK + offset)
        self.file.readinto(buffer)

    def writeblocks(self, block, buffer, offset=0):
        self.file.seek(block * BLOCK + offset)
        self.file.write(buffer)
        self.file.flush()
        self.keep(block * BLOCK + offset, buffer)

    def keep(self, place, data):
        if self.log is not None:
            self.log.write(struct.pack("<II", place, len(data)) + bytes(data))
            self.log.flush()

    def erase(self, block):
        self.file.seek(block * BLOCK)
        self.file.write(b"\xff" * BLOCK)
        self.file.flush()
        self.keep(block * BLOCK, b"")

    def ioctl(self, op, block):
        if op == 4:
            return self.blocks
        if op == 5:
            return BLOCK
        if op == 6:
            self.erase(block)
        return 0


def mount(image):
    """Mount the file system on `image` at /flash, made anew where there is none."""
    try:
        disk = vfs.VfsLfs2(image, progsize=PROGRAM)
    except OSError:
        vfs.VfsLfs2.mkfs(image, progsize=PROGRAM)
        disk = vfs.VfsLfs2(image, progsize=PROGRAM)
    vfs.mount(disk, "/flash")
