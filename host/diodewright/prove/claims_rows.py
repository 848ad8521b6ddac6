"""Claims about the fault rows: detected in time, quiet in health, first cause kept, cleared.

By induction over ticks: each tick counts a row whose condition holds and clears one whose doesn't,
and the row latches on the tick that fills its count. So a condition held for its count of ticks
latches, and nothing else does.
"""

from collections.abc import Callable

from diodedriver import words
from diodewright.prove import terms
from diodewright.prove.conditions import condition, count_needed
from diodewright.prove.obligation import Obligation
from diodewright.prove.terms import Bool, Int, add, all_of, any_of, eq, le, negate
from diodewright.prove.view import ROW, View, above, implies

__all__ = ["ROWS"]


def _detect(row: str) -> Callable[[View], Bool]:
    def claim(view: View) -> Bool:
        counted = add(view.s(f"count_{row}"), 1)
        full = le(count_needed(view, row), counted)
        latched = all_of(
            (
                view.row("faults", row),
                negate(eq(view.then("cause"), 0)),
                view.cut_off(),
            )
        )
        grows = eq(view.then(f"count_{row}"), counted)
        seen = all_of((view.row("suspect", row), terms.pick_truth(full, latched, grows)))
        return implies(condition(view, row), seen)

    return claim


def _quiet(row: str) -> Callable[[View], Bool]:
    def claim(view: View) -> Bool:
        quiet = all_of(
            (
                negate(view.row("suspect", row)),
                eq(view.then(f"count_{row}"), 0),
                implies(view.row("faults", row), view.row("faults", row, then=False)),
            )
        )
        return any_of((condition(view, row), quiet))

    return claim


def _full(view: View, row: str) -> Bool:
    """Return whether this tick filled a row's count."""
    counted = le(count_needed(view, row), add(view.s(f"count_{row}"), 1))
    return all_of((condition(view, row), counted))


def _zero_soft(view: View) -> Bool:
    implausible = any_of(_full(view, row) for row in ("sensor", "stale", "heat", "indicator"))
    return implies(implausible, view.cut_off())


def _zero_rising(view: View) -> Bool:
    suspicious = any_of(above(view.then(f"count_{row}"), 0) for row in ROW)
    return implies(suspicious, le(view.then("drive"), view.s("drive")))


def _kept_cause(view: View) -> Bool:
    """Return whether a kept cause stays, or goes with the last row."""
    same = all_of(
        eq(view.then(name), view.s(name))
        for name in ("cause", "cause_tick", "cause_mode", *_seen_names())
    )
    gone = all_of((eq(view.then("cause"), 0), eq(view.then("faults"), 0)))
    return implies(negate(eq(view.s("cause"), 0)), any_of((same, gone)))


def _seen_names() -> list[str]:
    return [f"seen_{row[0]}" for row in words.READINGS]


def _first_cause(view: View) -> Bool:
    """Return whether the lowest row that filled its count is the cause, with what was read."""
    lowest: Int = 0
    for row, code in reversed(ROW.items()):
        lowest = terms.ite(_full(view, row), code + 1, lowest)
    evidence = [eq(view.then(f"seen_{row[0]}"), view.r(row[0])) for row in words.READINGS]
    told = all_of(
        (
            eq(view.then("cause"), lowest),
            eq(view.then("cause_tick"), view.s("tick")),
            eq(view.then("cause_mode"), view.s("mode")),
            *evidence,
        )
    )
    none = eq(view.then("cause"), 0)
    return implies(eq(view.s("cause"), 0), terms.pick_truth(eq(lowest, 0), none, told))


def _may_clear(view: View, rule: str) -> Bool:
    """Return whether a rule is met in this tick."""
    made = all_of((view.pin("key"), view.pin("interlock"), negate(eq(view.s("opened"), 0))))
    met: dict[str, Bool] = {
        "release": True,
        "interlock": any_of((eq(view.limit("interlock_fitted"), 0), made)),
        "rest": all_of(
            (
                le(view.limit("rest_ticks"), view.s("rest")),
                le(view.limit("rearm_mV"), view.r("rest_mV")),
            )
        ),
        "service": False,
    }
    return met[rule]


def _latch(view: View) -> Bool:
    parts = []
    for row, rule, *_ in words.FAULTS:
        cleared = all_of((view.row("faults", row, then=False), negate(view.row("faults", row))))
        allowed = [
            negate(view.pin("trigger")),
            negate(condition(view, row)),
            _may_clear(view, rule),
        ]
        if row == "hot":
            allowed.append(le(view.r("lead_cK"), view.limit("warm_cK")))
        if row == "junction":
            allowed.append(le(view.r("junction_cK"), view.limit("junction_warm_cK")))
        parts.append(implies(cleared, all_of(allowed)))
    return all_of(parts)


def _opened(view: View) -> Bool:
    """Return whether "opened" is only set by an open contact."""
    begun = all_of((eq(view.s("opened"), 0), negate(eq(view.then("opened"), 0))))
    return implies(begun, any_of((negate(view.pin("key")), negate(view.pin("interlock")))))


ROWS = (
    *(
        Obligation(
            f"detect-{row[0]}",
            f"{row[4]}, for its count of ticks: the row latches, a cause is kept, drive 0",
            _detect(row[0]),
        )
        for row in words.FAULTS
        if row[0] != "state"
    ),
    *(
        Obligation(
            f"quiet-{row[0]}",
            f"not ({row[4]}): the tick doesn't raise the row, its count is 0",
            _quiet(row[0]),
        )
        for row in words.FAULTS
    ),
    Obligation(
        "zero-soft",
        "readings implausible for their row's count of ticks: drive 0, cut-offs open, on that tick",
        _zero_soft,
    ),
    Obligation(
        "zero-rising",
        "while any row's counter is above 0 the drive doesn't rise",
        _zero_rising,
    ),
    Obligation(
        "cause-kept",
        "a first cause, its tick, mode and readings stay until no row is latched",
        _kept_cause,
    ),
    Obligation(
        "cause-first",
        "of the rows that latch in one tick the lowest is the cause, kept with tick, mode and "
        "every reading",
        _first_cause,
    ),
    Obligation(
        "latch",
        "a latched row clears only with the trigger released, its condition gone (a thermal one: "
        "back where cutback begins) and its rule met; rows for service never",
        _latch,
    ),
    Obligation(
        "latch-opened",
        "only an open interlock or key counts as opened",
        _opened,
    ),
)
