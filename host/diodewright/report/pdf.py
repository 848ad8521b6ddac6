"""The page as PDF: printed by a Chromium of this machine, whole or not at all."""

import contextlib
import os
import shutil
import signal
import subprocess
import tempfile
from pathlib import Path

from diodewright.report.files import write_together

__all__ = ["QUIET", "NoPdf", "chromium", "write_pdf"]

PDF = "report.pdf"
#: Names that the browser goes by; DIODEWRIGHT_CHROMIUM names another.
NAMES = (
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
    "chrome-headless-shell",
)
#: It prints a page in a second or two; a machine that swaps may take far longer.
_TIMEOUT_S = 120
#: Nothing is fetched, nothing is kept.
QUIET = (
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
#: No page numbers but the style sheet's own.
_OPTIONS = ("--headless", *QUIET, "--no-pdf-header-footer")


class NoPdf(Exception):
    """No PDF was made; says why and how to get one, in one line."""


def chromium() -> str | None:
    """Return the path of a Chromium, or None; DIODEWRIGHT_CHROMIUM goes before `NAMES`."""
    named = os.environ.get("DIODEWRIGHT_CHROMIUM")
    if named:
        return shutil.which(named)
    return next(filter(None, map(shutil.which, NAMES)), None)


def write_pdf(page: Path, timeout_s: float = _TIMEOUT_S) -> Path:
    """Print the HTML file `page` into ``report.pdf`` beside it and return its path.

    The PDF carries the time at which it was made: it does not repeat to the byte.

    Raises
    ------
    NoPdf
        There is no Chromium, it took longer than `timeout_s` [s], or it gave no whole PDF.
    CannotWrite
        The folder can't be written; a PDF that stood there stays.
    """
    browser = chromium()
    if browser is None:
        raise NoPdf(
            f"{page} is written, {PDF} is not: no Chromium found (looked for "
            f"{', '.join(NAMES)}); install one, name it in DIODEWRIGHT_CHROMIUM, or print the page"
        )
    with tempfile.TemporaryDirectory(prefix="diodewright-") as folder:
        made = Path(folder) / PDF
        _print(browser, page, made, timeout_s)
        if not _whole(made):
            raise NoPdf(f"{page} is written, {PDF} is not: {browser} gave no whole PDF")
        (written,) = write_together(page.parent, {PDF: lambda path: shutil.copyfile(made, path)})
    return written


def _print(browser: str, page: Path, made: Path, timeout_s: float) -> None:
    """Run the browser in a session of its own, so that all of it ends where it hangs."""
    # as root it refuses to start with its sandbox; the page it is shown runs nothing
    options = [*_OPTIONS, *(["--no-sandbox"] if os.geteuid() == 0 else [])]
    words = [
        browser,
        *options,
        f"--user-data-dir={made.parent / 'profile'}",
        f"--print-to-pdf={made}",
        page.resolve().as_uri(),
    ]
    try:
        child = subprocess.Popen(
            words,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
    except OSError as error:
        raise NoPdf(f"{page} is written, {PDF} is not: {browser}: {error.strerror}") from None
    try:
        child.wait(timeout_s)
    except subprocess.TimeoutExpired:
        raise NoPdf(
            f"{page} is written, {PDF} is not: {browser} took longer than {timeout_s:g} s"
        ) from None
    finally:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(child.pid, signal.SIGKILL)
        child.wait()


def _whole(path: Path) -> bool:
    """Return whether the file begins and ends as a PDF does (ISO 32000-1, 7.5.2 and 7.5.5)."""
    if not path.is_file():
        return False
    data = path.read_bytes()
    return data.startswith(b"%PDF-") and data.rstrip().endswith(b"%%EOF")
