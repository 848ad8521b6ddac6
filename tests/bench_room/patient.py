"""A board that does not run away from its client: on a busy machine minutes of its time would pass.

A light has its auto-off, a mount warms: both go by the board's clock, and a client that gets no
turn for a second would find the board half a minute on.
"""

import time

from diodewright.twin import Session

#: So long the board runs as fast as it goes behind the last word from its client [ms].
QUIET_MS = 300
_PAUSE_S = 1e-3


class Patient:
    """A session at full speed while its client speaks, at no more than real time in silence."""

    def __init__(self, session: Session) -> None:
        self.session, self.twin = session, session.twin
        self._spoken = self.twin.now

    def step(self, data: bytes = b"") -> bytes:
        """Let one tick pass with `data` for the board."""
        if data:
            self._spoken = self.twin.now
        elif self.twin.now - self._spoken > QUIET_MS:
            time.sleep(_PAUSE_S)
        return self.session.step(data)
