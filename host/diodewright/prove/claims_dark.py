"""Claims about being dark: what must cut the light in the very tick that sees it."""

from diodewright.prove import terms
from diodewright.prove.obligation import Obligation
from diodewright.prove.terms import Bool, le, negate
from diodewright.prove.view import MODE, View, above, implies

__all__ = ["DARK"]


def _hard(view: View) -> Bool:
    """Return whether there is a hard reason to be dark, as pins and times give it."""
    return terms.any_of(
        (
            negate(view.pin("interlock")),
            negate(view.pin("key")),
            negate(view.pin("trigger")),
            view.pin("latch"),
            view.pin("settings_bad"),
            le(terms.add(view.limit("late_ticks"), 1), view.raw("gap_ticks")),
            le(terms.add(view.limit("beat_max_ticks"), 1), view.raw("beat_ticks")),
        )
    )


def _zero_hard(view: View) -> Bool:
    return implies(_hard(view), view.cut_off())


def _zero_latched(view: View) -> Bool:
    latched = terms.any_of((*view.bits("faults"), *view.bits("faults", then=True)))
    return implies(latched, view.cut_off())


def _starved(view: View) -> Bool:
    """Return whether a gated stage is allowed less than it gives."""
    lit = view.lit()
    gate_mA, start_mA = view.limit("gate_mA"), view.limit("start_mA")
    need = terms.ite(lit, gate_mA, start_mA)
    return terms.all_of((above(gate_mA, 0), above(need, view.then("allowed"))))


def _hard_reasons(view: View) -> Bool:
    """Return whether the law's own word for reasons is 0 exactly where there is none."""
    reasons = terms.any_of(
        (
            negate(view.pin("interlock")),
            negate(view.pin("key")),
            negate(view.pin("trigger")),
            view.row("suspect", "latch"),
            *view.bits("faults", then=True),
            terms.eq(view.s("mode"), MODE["boot"]),
            _starved(view),
        )
    )
    none = terms.eq(view.then("hard"), 0)
    return terms.all_of((implies(reasons, negate(none)), implies(negate(reasons), none)))


def _lit_or_zero(view: View) -> Bool:
    """Drive only ever leaves a tick in a lit mode."""
    return implies(negate(view.lit(then=True)), view.cut_off())


DARK = (
    Obligation(
        "zero-hard",
        "interlock open, key off, trigger released, comparator latch, bad settings, tick late or "
        "heartbeat old: drive 0, cut-offs A and B open, in the same tick",
        _zero_hard,
    ),
    Obligation(
        "hard-reasons",
        "the word of hard reasons is 0 exactly where interlock, key and trigger are closed, the "
        "comparator latch is clear, nothing is latched, boot is over and a gated stage is allowed "
        "its current: no press is used up by less, and in health none is",
        _hard_reasons,
    ),
    Obligation(
        "zero-latched",
        "any row latched before or in this tick, lockout among them: drive 0, cut-offs A and B "
        "open, in the same tick",
        _zero_latched,
    ),
    Obligation(
        "zero-mode",
        "outside of start, soft-start, run and limited: drive 0, cut-offs A and B open",
        _lit_or_zero,
    ),
)
