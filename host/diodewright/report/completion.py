"""What the shell offers behind the cursor: builds, documents, fault cases.

click speaks with bash, zsh and fish; these functions say only what there is. Imports stand inside
them: the shell waits for each key. What can't be read is not offered, and never an error.
"""

import glob
from pathlib import Path

import click
from click.shell_completion import CompletionItem

__all__ = ["builds", "builds_and_documents", "cases", "documents"]

#: More than a screen of names helps nobody.
_MOST = 100


def builds(_: click.Context, __: click.Parameter, begun: str) -> list[CompletionItem]:
    """Offer shipped examples and the build files here and one folder down."""
    from diodewright.build.source import examples

    shipped = [CompletionItem(name, help="shipped example") for name in examples()]
    begin = [item for item in shipped if item.value.startswith(begun)]
    return begin + _files(begun, ".toml", "build file")


def documents(_: click.Context, __: click.Parameter, begun: str) -> list[CompletionItem]:
    """Offer the JSON files here and one folder down."""
    return _files(begun, ".json", "document")


def builds_and_documents(
    context: click.Context, parameter: click.Parameter, begun: str
) -> list[CompletionItem]:
    """Offer what `diff` takes: after a build builds, after a document documents, else both."""
    first = str(context.params.get("a") or "") if parameter.name == "b" else ""
    if first.endswith(".json"):
        return documents(context, parameter, begun)
    if first:
        return builds(context, parameter, begun)
    return builds(context, parameter, begun) + documents(context, parameter, begun)


def cases(_: click.Context, __: click.Parameter, begun: str) -> list[CompletionItem]:
    """Offer FAULT@MOMENT: core moments while the fault is typed, behind the @ every moment."""
    from diodewright.faults import CORE, ENGINE, MOMENTS

    return [
        CompletionItem(f"{fault.id}@{at}", help=f"{fault.part}: {fault.happens}")
        for fault in ENGINE
        for at in (MOMENTS if "@" in begun else CORE)
        if f"{fault.id}@{at}".startswith(begun)
    ]


def _files(begun: str, ending: str, meaning: str) -> list[CompletionItem]:
    start = glob.escape(begun)
    found = {*glob.glob(f"{start}*{ending}"), *glob.glob(f"{start}*/*{ending}")}  # noqa: PTH207
    files = sorted(name for name in found if name.isprintable() and Path(name).is_file())
    return [CompletionItem(name, help=meaning) for name in files[:_MOST]]
