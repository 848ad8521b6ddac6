"""The verb's own work: a source, its page, its server, and what is printed."""

import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from diodewright.bench import Line
from diodewright.bench.keeping import Keeper
from diodewright.bench.outlook import Outlook
from diodewright.bench.record import load, provenance_of
from diodewright.bench.watch import Watch, other_build, papers_of, serial_of
from diodewright.build import Build
from diodewright.build.plain_file import why
from diodewright.derive import settings
from diodewright.page.access import App
from diodewright.page.desk import Desk
from diodewright.page.problems import PageError
from diodewright.page.recorded import Recorded
from diodewright.page.run import LiveRun, again, read_kept
from diodewright.page.serving import Place, serve
from diodewright.page.source import Source
from diodewright.page.trying import Trying
from diodewright.page.tuning import Tuning
from diodewright.page.watching import Watching
from diodewright.report.terminal import block, screen
from diodewright.sim import compiled

__all__ = ["TELEMETRY_HZ", "Wanted", "board_of", "opened", "show_page", "source_of"]

#: What the board is asked for: the most that it sends.
TELEMETRY_HZ = 50
_MOST_BYTES = 32_000_000
_SECRET = "the address holds a secret: who has it may use the page; it is another at each start"
_BEYOND = (
    "others on the network can reach this page, unencrypted: whoever learns the address may use "
    "it; 127.0.0.1 keeps it to this machine"
)
_LIMITS = {
    "light": "a simulated light: typical parts, nothing of it lights anything",
    "board": "sensors, not the truth; this page can make it dark, never light it",
    "record": "a recording: sensors, not the truth",
}


@dataclass(frozen=True)
class Wanted:
    """What a page shows: the simulated light where all is None."""

    build: Build
    named: str
    seed: int = 1
    board: str | None = None
    record: Path | None = None
    replay: Path | None = None


def source_of(wanted: Wanted) -> Source:
    """Return what feeds the page.

    Raises
    ------
    PageError, BenchError, EngineError
        No such file or board, or no compiled engine.
    """
    if wanted.board is not None:
        return board_of(wanted.build, wanted.board)
    if wanted.record is not None:
        return Recorded(load(wanted.record), str(wanted.record))
    if wanted.replay is not None:
        return _replayed(wanted.build, wanted.replay)
    return Trying(LiveRun.begun(wanted.build, compiled(), wanted.seed))


def board_of(build: Build, port: str) -> Watching:
    """Return the board at `port` as a source; BenchError where there is none of ours."""
    line = Line(port)
    try:
        papers = papers_of(line)
        provenance = provenance_of(build, line.identity, TELEMETRY_HZ)
        provenance |= {"passport": papers[0], "despite": list(papers[1])}
        keeper = Keeper(TELEMETRY_HZ, provenance, None)
        outlook = Outlook(settings(build))
        watch = Watch(line, keeper, outlook, TELEMETRY_HZ, papers, serial_of(port))
        return Watching(watch, other_build(build, line.identity))
    except BaseException:
        line.close()
        raise


def _replayed(build: Build, path: Path) -> Trying:
    try:
        with path.open("rb") as file:
            data = file.read(_MOST_BYTES)
    except OSError as error:
        raise PageError(f"{path}: {why(error)}") from None
    source = Trying(again(build, compiled(), read_kept(data, str(path))))
    source.pace.pause(True)
    return source


def opened(wanted: Wanted, source: Source) -> App:
    """Return the web application of `source`."""
    from diodewright.page.app import web_app
    from diodewright.page.document import files_of, page_text

    tuning = None
    if isinstance(source, Trying):
        tuning = Tuning(wanted.named, wanted.build, wanted.seed)
    tuned = [*tuning.keys.values()] if tuning else ()
    document = page_text(wanted.build, source.kind, source.columns, wanted.seed, tuned)
    desk = Desk(source, {"kind": source.kind, "columns": source.columns}, tuning)
    made: Callable[..., App] = web_app
    return made(desk, document, files_of(source.kind, bool(tuned)))


def show_page(wanted: Wanted, at: Place, opens: bool) -> None:
    """Serve a page until Ctrl-C; print its address first, on a line of its own."""
    try:
        source = source_of(wanted)
    except BaseException:
        at.listening.close()
        raise
    out = screen()

    def ready() -> None:
        out.print(f"page {at.url}", soft_wrap=True)
        block(out, "secret", [_SECRET])
        if not at.loopback:
            block(out, "warning", [_BEYOND])
        block(out, "limits", [_LIMITS[source.kind]])
        block(out, "end", ["Ctrl-C"])
        sys.stdout.flush()
        if opens:
            import webbrowser

            webbrowser.open(at.url)

    serve(opened(wanted, source), at, ready)
