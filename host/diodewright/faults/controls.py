"""Faults of what a hand moves, and of the emission indicator."""

from diodewright.faults.fault import Fault

__all__ = ["ROWS"]

ROWS: tuple[Fault, ...] = (
    # trigger
    Fault(
        "trigger-open",
        "trigger",
        "its contact opens: as a release, and only the law reads it",
        (("plant.trigger", 0),),
        "dark",
        2,
        "law",
        mode="open",
    ),
    Fault(
        "trigger-stuck",
        "trigger",
        "welded: nobody reads its release; auto-off, key and interlock end the light",
        (),
        "dark",
        None,
        "law",
        mode="short",
        level="twin",
        shown_by=(
            "tests/firmware/test_law_start.py::test_auto_off_goes_dark_and_stays_dark_while_held"
        ),
    ),
    Fault(
        "trigger-held",
        "trigger",
        "held or welded at power-up: a press that was never made",
        (),
        "dark",
        None,
        "law",
        mode="stuck",
        level="twin",
        shown_by="tests/twin/test_exits.py::test_power_up_with_the_trigger_held_does_not_light",
    ),
    Fault(
        "trigger-bounce",
        "trigger",
        "opens for 2 ms: a release and a fresh press",
        (("plant.trigger", 0),),
        "holds",
        None,
        "law",
        mode="intermittent",
        restores=((2.0, "plant.trigger", 1),),
    ),
    # interlock and key
    Fault(
        "interlock-open",
        "interlock loop",
        "lid opened, or a wire broken",
        (("plant.interlock", 0),),
        "dark",
        2,
        "either",
        mode="open",
        needs=("interlock",),
        by="gate logic",
        source=(
            "IEC 60825-1 asks for the control (second-hand); the failure is common practice, no "
            "source"
        ),
    ),
    Fault(
        "interlock-bridged",
        "interlock loop",
        "a plug or a pinched wire closes it for good: an open lid is not seen",
        (("plant.interlock_stuck", 1),),
        "holds",
        None,
        "nobody",
        mode="short",
        needs=("interlock",),
        guard="latent",
        source=(
            "IEC 60825-1 asks for the control (second-hand); the failure is common practice, no "
            "source"
        ),
    ),
    Fault(
        "interlock-bounce",
        "interlock loop",
        "opens for 2 ms and closes",
        (("plant.interlock", 0),),
        "dark",
        3,
        "either",
        mode="intermittent",
        restores=((2.0, "plant.interlock", 1),),
        needs=("interlock",),
        by="gate logic",
        source=(
            "IEC 60825-1 asks for the control (second-hand); the failure is common practice, no "
            "source"
        ),
    ),
    Fault(
        "key-off",
        "key",
        "turned off, or a wire broken",
        (("plant.key", 0),),
        "dark",
        2,
        "either",
        mode="open",
        needs=("key",),
        by="gate logic",
        source=(
            "IEC 60825-1 asks for the control (second-hand); the failure is common practice, no "
            "source"
        ),
    ),
    Fault(
        "key-stuck",
        "key",
        "can't be turned off",
        (("plant.key_stuck", 1),),
        "holds",
        None,
        "nobody",
        mode="short",
        needs=("key",),
        guard="latent",
        source=(
            "IEC 60825-1 asks for the control (second-hand); the failure is common practice, no "
            "source"
        ),
    ),
    Fault(
        "key-bounce",
        "key",
        "opens for 2 ms and closes",
        (("plant.key", 0),),
        "dark",
        3,
        "either",
        mode="intermittent",
        restores=((2.0, "plant.key", 1),),
        needs=("key",),
        by="gate logic",
        source=(
            "IEC 60825-1 asks for the control (second-hand); the failure is common practice, no "
            "source"
        ),
    ),
    Fault(
        "key-cycled",
        "key",
        "off and on to lose the heat memory: the budget starts at its pessimistic end",
        (),
        "holds",
        None,
        "law",
        mode="intermittent",
        level="twin",
        shown_by=(
            "tests/firmware/test_law_edges.py::"
            "test_first_look_starts_the_memories_at_their_pessimistic_end"
        ),
    ),
    # emission indicator
    Fault(
        "indicator-dead",
        "indicator",
        "goes dark",
        (("plant.indicator_open", 1),),
        "dark",
        100,
        "law",
        mode="open",
        needs=("indicator",),
        source=(
            "IEC 60825-1 asks for the indicator (second-hand); the failure is common practice, no "
            "source"
        ),
    ),
    Fault(
        "indicator-bright",
        "indicator",
        "its series resistor is short: four times the current",
        (("plant.indicator_A", 0.02),),
        "dark",
        100,
        "law",
        mode="short",
        needs=("indicator",),
        source=(
            "IEC 60825-1 asks for the indicator (second-hand); the failure is common practice, no "
            "source"
        ),
    ),
    Fault(
        "indicator-flickers",
        "indicator",
        "dark for 10 ms and back",
        (("plant.indicator_open", 1),),
        "holds",
        None,
        "nobody",
        mode="intermittent",
        restores=((10.0, "plant.indicator_open", 0),),
        needs=("indicator",),
        source=(
            "IEC 60825-1 asks for the indicator (second-hand); the failure is common practice, no "
            "source"
        ),
    ),
)
