"""The build file: described once, checked whole, and read by everything else.

``load`` gives a frozen `Build` or raises `BuildErrors` with everything that is wrong. One table
of keys (`KEYS`) and one of contradictions (`RULES`) make the checks, the error texts, new files
and the documentation.
"""

from diodewright.build.catalogue import Part, Value, parts
from diodewright.build.document import (
    build_file_as_markdown,
    keys_as_markdown,
    rules_as_markdown,
)
from diodewright.build.keys import Key
from diodewright.build.loading import load, load_text
from diodewright.build.model import KEYS, Assumed, Build
from diodewright.build.new import template, write_whole
from diodewright.build.points import Forward, Light, PointsError, fit_forward, fit_light
from diodewright.build.problems import BuildErrors, Problem
from diodewright.build.rules import RULES, Rule
from diodewright.build.source import examples

__all__ = [
    "KEYS",
    "RULES",
    "Assumed",
    "Build",
    "BuildErrors",
    "Forward",
    "Key",
    "Light",
    "Part",
    "PointsError",
    "Problem",
    "Rule",
    "Value",
    "build_file_as_markdown",
    "examples",
    "fit_forward",
    "fit_light",
    "keys_as_markdown",
    "load",
    "load_text",
    "parts",
    "rules_as_markdown",
    "template",
    "write_whole",
]
