"""Tune: what each choice of levels and limits gives and what it must hold."""

from diodewright.tune.constraints import Constraint
from diodewright.tune.context import Context, context_of
from diodewright.tune.evaluate import DEPTHS, Evaluation, evaluate

__all__ = ["DEPTHS", "Constraint", "Context", "Evaluation", "context_of", "evaluate"]
