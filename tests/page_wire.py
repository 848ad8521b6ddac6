"""A client of the live page's wire that is no browser."""

import json
import time
from collections.abc import Callable
from typing import Any

import websockets.sync.client

__all__ = ["SOON_S", "until", "wire_to"]

#: By then something comes, on a machine that is busy [s].
SOON_S = 20.0


def wire_to(served: Any, token: str | None = None, **more: Any) -> Any:
    """Return a wire to a served page, by its own token and origin unless told otherwise."""
    at = served.at
    origin = more.pop("origin", f"http://{at.host}:{at.port}")
    address = f"ws://{at.host}:{at.port}/{at.token if token is None else token}/wire"
    return websockets.sync.client.connect(
        address, origin=origin, open_timeout=SOON_S, proxy=None, **more
    )


def until(wire: Any, name: str, where: Callable[[Any], bool] = lambda of: True) -> Any:
    """Return the next of what is told under `name` for which `where` holds."""
    end_s = time.monotonic() + SOON_S
    while time.monotonic() < end_s:
        said = wire.recv(timeout=SOON_S)
        told = json.loads(said) if isinstance(said, str) else {"tell": ""}
        if told["tell"] == name and where(told["of"]):
            return told["of"]
    raise AssertionError(f"{name} never came so")
