"""The twin: the firmware that one would flash, in real MicroPython, on a simulated board.

`child` runs the firmware with a `machine` of ours; `twin` is the plant that answers it in
lockstep, one exchange a tick, on one simulated clock; `shim` is what the firmware imports.
`session` records and replays what goes over the serial port (`port`), `live` lets a person take
part, `levels` runs the law alone beside it.
"""

from diodewright.twin.child import Absent, micropython_path
from diodewright.twin.chip import Look
from diodewright.twin.port import Port
from diodewright.twin.session import BadRecording, Session, read_recording, replay
from diodewright.twin.twin import Event, Twin

__all__ = [
    "Absent",
    "BadRecording",
    "Event",
    "Look",
    "Port",
    "Session",
    "Twin",
    "micropython_path",
    "read_recording",
    "replay",
]
