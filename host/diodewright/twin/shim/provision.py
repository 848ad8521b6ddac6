"""Put files on a flash image, as flashing does: arguments image, blocks, then name and source."""

import os
import sys

import vfs
from disk import Image, mount

image = Image(sys.argv[1], int(sys.argv[2]))
mount(image)
for place in range(3, len(sys.argv), 2):
    with open(sys.argv[place + 1], "rb") as source:
        data = source.read()
    parent = sys.argv[place].rpartition("/")[0]
    if parent and parent not in os.listdir("/flash"):
        os.mkdir("/flash/" + parent)
    with open("/flash/" + sys.argv[place], "wb") as target:
        target.write(data)
vfs.umount("/flash")
image.file.close()
