"""What a client may say: one JSON object a frame, its form checked before its meaning."""

import msgspec

from diodewright.page.source import Asked, Refused

__all__ = ["MOST_BYTES", "read_wish"]

#: Of one frame; nothing that the page says is longer.
MOST_BYTES = 2048


class _Said(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The one form: `what` and `value` mean what `do` makes of them."""

    do: str
    what: str = ""
    value: float = 0.0


def read_wish(data: str | bytes, client: int) -> Asked:
    """Return what a client said.

    Raises
    ------
    Refused
        It is too long, no JSON, or of another form.
    """
    if len(data) > MOST_BYTES:
        raise Refused(f"{len(data)} bytes, a frame holds {MOST_BYTES}")
    try:
        said = msgspec.json.decode(data, type=_Said)
    except (msgspec.DecodeError, UnicodeError, RecursionError) as error:
        raise Refused(f"not understood: {error}") from None
    return Asked(client, said.do, said.what, said.value)
