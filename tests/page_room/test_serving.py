"""The server: who is let in, what nonsense does, and how it ends."""

import http.client
import json
import random
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import ExitStack, suppress
from typing import Any

import pytest

from diodewright.build.extras import Missing
from diodewright.page import PageError, serving
from diodewright.page.access import HEADERS
from diodewright.page.desk import MOST_CLIENTS, MOST_NONSENSE
from diodewright.page.outbox import MOST_FRAMES, Outbox
from diodewright.page.serving import place

pytest.importorskip("websockets", reason="the extra live is not installed")
import websockets.sync.client
from websockets.exceptions import ConnectionClosed, InvalidStatus

from page_wire import SOON_S, until, wire_to


def _status(served: Any, path: str, **headers: str) -> tuple[int, dict[str, str], bytes]:
    at = served.at
    with socket.create_connection((at.host, at.port), timeout=SOON_S):
        connection = http.client.HTTPConnection(at.host, at.port, timeout=SOON_S)
        connection.putrequest("GET", path, skip_host=True)
        for name, value in ({"Host": f"{at.host}:{at.port}"} | headers).items():
            connection.putheader(name, value)
        connection.endheaders()
        answer = connection.getresponse()
        found = answer.status, {k.lower(): v for k, v in answer.getheaders()}, answer.read()
        connection.close()
        return found


def _ends(wire: Any) -> None:
    """Take it that the server ends this wire soon."""
    with pytest.raises(ConnectionClosed):
        _listen(wire)


def _listen(wire: Any) -> None:
    end_s = time.monotonic() + SOON_S
    while time.monotonic() < end_s:
        wire.recv(timeout=SOON_S)


def _held(wire: Any, value: int) -> None:
    """Wait until the trigger is held, 1, or not, 0."""
    until(wire, "state", lambda of: of["held"]["trigger"] == value)


def test_the_page_is_there_by_its_address_alone(serve: Callable[..., Any]) -> None:
    served = serve()
    path = f"/{served.at.token}/"
    status, headers, body = _status(served, path)
    assert status == 200
    assert b"smoke_tunnel" in body
    assert {name: headers[name] for name in HEADERS} == HEADERS
    for wrong in ("/", "/x/", f"/{served.at.token[:-1]}/", f"//{served.at.token}/", "/%00/"):
        assert _status(served, wrong)[0] == 404, wrong


_FOREIGN = (
    {"Host": "elsewhere.example"},
    {"Host": "127.0.0.1"},
    {"Host": ""},
    {"Origin": "http://elsewhere.example"},
    {"Origin": "null"},
)


def test_a_foreign_host_or_origin_gets_nothing(serve: Callable[..., Any]) -> None:
    """DNS rebinding names another host; a foreign page names another origin (RFC 6454)."""
    served = serve()
    for headers in _FOREIGN:
        status, _, body = _status(served, f"/{served.at.token}/", **headers)
        assert status in (403, 421), headers
        assert body == b""


_UNASKED: tuple[dict[str, Any], ...] = (
    {"token": "wrong"},
    {"token": ""},
    {"origin": None},
    {"origin": "http://elsewhere.example"},
    {"origin": "https://127.0.0.1"},
)


def test_the_wire_opens_to_the_pages_own_origin_and_token_alone(
    serve: Callable[..., Any],
) -> None:
    served = serve()
    for asked in _UNASKED:
        with pytest.raises(InvalidStatus), wire_to(served, **asked):
            pass
    with wire_to(served) as wire:
        assert until(wire, "hello")["kind"] == "light"


def test_no_file_beyond_the_pages_own_is_served(serve: Callable[..., Any]) -> None:
    served = serve()
    for name in ("page.html.j2", "..%2f__init__.py", "../hands.py", "off.js", "LICENSE"):
        assert _status(served, f"/{served.at.token}/file/{name}")[0] == 404, name
    assert _status(served, f"/{served.at.token}/keep/other")[0] == 404


#: Frames that mean nothing; each must be told why, and change nothing.
_NONSENSE = (
    "",
    "{",
    "[]",
    "null",
    '"press"',
    '{"do": 1}',
    '{"do": "press", "more": 1}',
    '{"do": "press", "value": "1"}',
    '{"do": "seek", "value": NaN}',
    '{"do": "seek", "value": 1e999}',
    "[" * 1500,
    b"\xff\xfe",
    '{"do": "press"}'.encode("utf-16"),
    '{"do": "begin"}' + " " * 3000,  # too long, though it means something
)


def test_nonsense_is_told_why_and_changes_nothing(serve: Callable[..., Any]) -> None:
    served = serve()
    with wire_to(served) as wire:
        for frame in _NONSENSE:
            wire.send(frame)
            assert until(wire, "refused")["why"], frame
        wire.send('{"do": "pause"}')
        until(wire, "state", lambda of: of["paused"])
    assert served.source.run.hands.acts == []


_SENSELESS = (
    ("light", "", 1),
    ("set", "trigger", 1),
    ("set", "ambient", 1e6),
    ("break", "everything", 0),
    ("speed", "", 101),
    ("speed", "", -1),
    ("seek", "", 1e12),
    ("step", "", 1),
    ("off", "", 0),
)


def test_a_wish_that_makes_no_sense_is_refused(serve: Callable[..., Any]) -> None:
    served = serve()
    with wire_to(served) as wire:
        for do, what, value in _SENSELESS:
            wire.send(json.dumps({"do": do, "what": what, "value": value}))
            assert until(wire, "refused")["do"] == do
    assert served.source.run.hands.acts == []


def test_random_frames_never_bring_the_server_down(serve: Callable[..., Any]) -> None:
    """Seeded: words of the protocol and bytes of none, in frames and in broken ones."""
    served, chance = serve(), random.Random(20)
    words = ["do", "what", "value", "press", "let-go", "set", "seek", "window", "key", "-1", "1e9"]
    for _ in range(12):
        with suppress(ConnectionClosed), wire_to(served) as wire:
            for _ in range(40):
                pieces = chance.choices([*words, *'{}[]",:\\\0'], k=chance.randrange(1, 30))
                text = "".join(pieces)
                wire.send(chance.choice((text, chance.randbytes(len(text)))))
                made = {"do": chance.choice(words), "what": chance.choice(words)}
                wire.send(json.dumps(made | {"value": chance.uniform(-1e4, 1e4)}))
    with wire_to(served) as wire:
        assert until(wire, "state")["mode"]


def test_who_says_nothing_but_nonsense_is_shown_the_door(serve: Callable[..., Any]) -> None:
    served = serve()
    with wire_to(served) as wire:
        for _ in range(MOST_NONSENSE):
            wire.send("nonsense")
        _ends(wire)


def test_a_frame_too_long_for_the_wire_ends_that_wire_alone(serve: Callable[..., Any]) -> None:
    served = serve()
    with wire_to(served) as other:
        with wire_to(served) as wire:
            wire.send("x" * 1_000_000)
            _ends(wire)
        assert until(other, "state")


def test_there_is_an_end_to_how_many_pages_are_open(serve: Callable[..., Any]) -> None:
    served = serve()
    with ExitStack() as stack:
        for _ in range(MOST_CLIENTS):
            stack.enter_context(wire_to(served))
        with wire_to(served) as late:
            _ends(late)
    with wire_to(served) as again:
        assert until(again, "hello")


def test_a_socket_that_drops_while_it_holds_the_trigger_lets_go(
    serve: Callable[..., Any],
) -> None:
    served = serve()
    with wire_to(served) as watching, wire_to(served) as wire:
        wire.send('{"do": "press"}')
        _held(watching, 1)
        wire.socket.shutdown(socket.SHUT_RDWR)  # no close frame: a cable pulled
        _held(watching, 0)
    assert [act.value for act in served.source.run.hands.acts] == [1.0, 0.0]


def test_of_two_hands_on_the_trigger_the_last_one_lets_go(serve: Callable[..., Any]) -> None:
    served = serve()
    with wire_to(served) as one, wire_to(served) as two:
        for wire in (one, two):
            wire.send('{"do": "press"}')
        _held(two, 1)
        one.send('{"do": "let-go"}')
        one.send('{"do": "pause"}')
        state = until(two, "state", lambda of: of["paused"])
        assert state["held"]["trigger"] == 1
        two.send('{"do": "let-go"}')
        _held(two, 0)


def test_a_client_that_does_not_read_costs_no_more_than_its_queue() -> None:
    box = Outbox()
    for number in range(100):
        box.show(b"%d" % number, False, b"gap")
        box.tell("state", number)
    waiting = len(box._rows)
    assert waiting <= MOST_FRAMES + 1
    assert box._rows[0] == b"gap"
    assert box._rows[-1] == b"99"
    assert len(box._texts) == 1
    assert box.dropped + waiting >= 100


@pytest.mark.parametrize(
    ("address", "match"),
    [("0.0.0.0", "every address"), ("::", "every address"), ("here", "no address"),
     ("192.0.2.1", "can't be listened at")],
)  # fmt: skip
def test_a_place_that_is_none_is_refused(address: str, match: str) -> None:
    """192.0.2.0/24 belongs to nobody (RFC 5737)."""
    with pytest.raises(PageError, match=match):
        place(address)


def test_a_port_in_use_is_told_and_every_start_has_another_token() -> None:
    with (first := place()).listening:
        assert first.loopback
        first.listening.listen()
        with pytest.raises(PageError, match="can't be listened at"):
            place(port=first.port)
    with (second := place()).listening:
        assert second.token != first.token
        assert len(second.token) >= 22  # 128 bits, six a character


def test_without_its_libraries_the_page_is_incomplete(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "uvicorn", None)
    with pytest.raises(Missing, match=r"uvicorn.*pip install 'diodewright\[live\]'"):
        serving.needed()


def test_ctrl_c_ends_it_cleanly_with_a_page_open() -> None:
    """Exit 130 as everywhere, nothing on stderr, the port free again."""
    command = [sys.executable, "-m", "diodewright.cli", "page", "smoke_tunnel"]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as verb:
        assert verb.stdout is not None
        assert verb.stderr is not None
        url = verb.stdout.readline().split()[1]
        at = url.removeprefix("http://").partition("/")[0]
        address = url.replace("http:", "ws:") + "wire"
        with (
            suppress(ConnectionClosed),
            websockets.sync.client.connect(address, origin=f"http://{at}", proxy=None) as wire,
        ):
            until(wire, "state")
            verb.send_signal(signal.SIGINT)
            _listen(wire)
        assert verb.wait(10) == 130
        assert verb.stderr.read().strip() == ""
    host, port = at.split(":")
    with place(host, int(port)).listening:
        pass
