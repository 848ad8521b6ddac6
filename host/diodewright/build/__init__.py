"""The build file: described once, checked whole, and read by everything else.

``load`` gives a frozen `Build` or raises `BuildErrors` with everything that is wrong. One table
of keys (`KEYS`) and one of contradictions (`RULES`) make the checks, the error texts, new files
and the documentation.
"""

from diodewright.build.catalogue import Part, Value, parts
from diodewright.build.cells import CHEMISTRIES, Chemistry
from diodewright.build.document import (
    build_file_as_markdown,
    keys_as_markdown,
    rules_as_markdown,
)
from diodewright.build.keys import Key
from diodewright.build.loading import load, load_text, with_value, with_values
from diodewright.build.model import KEYS, Assumed, Build
from diodewright.build.new import template, write_whole
from diodewright.build.parts_file import read_parts
from diodewright.build.points import Forward, Light, PointsError, fit_forward, fit_light
from diodewright.build.problems import BuildErrors, Problem
from diodewright.build.rooms import RuleRoom, rule_rooms
from diodewright.build.rules import RULES, Rule
from diodewright.build.source import examples, is_path

__all__ = [
    "CHEMISTRIES",
    "KEYS",
    "RULES",
    "Assumed",
    "Build",
    "BuildErrors",
    "Chemistry",
    "Forward",
    "Key",
    "Light",
    "Part",
    "PointsError",
    "Problem",
    "Rule",
    "RuleRoom",
    "Value",
    "build_file_as_markdown",
    "examples",
    "fit_forward",
    "fit_light",
    "is_path",
    "keys_as_markdown",
    "load",
    "load_text",
    "parts",
    "read_parts",
    "rule_rooms",
    "rules_as_markdown",
    "template",
    "with_value",
    "with_values",
    "write_whole",
]
