"""The flash as a block device over a file, and the board's file system on it."""

import vfs

BLOCK = 4096
# as the board mounts it: what one program takes
PROGRAM = 256


class Image:
    """The flash without a clock."""

    def __init__(self, path, blocks):
        self.file = open(path, "r+b")
        self.blocks = blocks

    def readblocks(self, block, buffer, offset=0):
        self.file.seek(block * BLOCK + offset)
        self.file.readinto(buffer)

    def writeblocks(self, block, buffer, offset=0):
        self.file.seek(block * BLOCK + offset)
        self.file.write(buffer)
        self.file.flush()

    def ioctl(self, op, block):
        if op == 4:
            return self.blocks
        if op == 5:
            return BLOCK
        if op == 6:
            self.writeblocks(block, b"\xff" * BLOCK)
        return 0


def mount(image):
    """Mount the file system on `image` at /flash, made anew where there is none."""
    try:
        disk = vfs.VfsLfs2(image, progsize=PROGRAM)
    except OSError:
        vfs.VfsLfs2.mkfs(image, progsize=PROGRAM)
        disk = vfs.VfsLfs2(image, progsize=PROGRAM)
    vfs.mount(disk, "/flash")
