"""Tune: what each choice of levels and limits gives and what it must hold."""

from diodewright.tune.constraints import Constraint
from diodewright.tune.context import Context, context_of
from diodewright.tune.evaluate import DEPTHS, Evaluation, evaluate
from diodewright.tune.keys import TuneKey, key_named, parsed, rounded, safe_span, tune_keys
from diodewright.tune.problems import TuneError

__all__ = [
    "DEPTHS",
    "Constraint",
    "Context",
    "Evaluation",
    "TuneError",
    "TuneKey",
    "context_of",
    "evaluate",
    "key_named",
    "parsed",
    "rounded",
    "safe_span",
    "tune_keys",
]
