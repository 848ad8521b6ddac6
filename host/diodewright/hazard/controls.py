"""What a laser product of each class must have, as a table.

Source. 21 CFR 1040.10 (United States law), IEC 60825-1:2014 clauses 6 and 7, ANSI Z136.1. Clause
numbers and wording are second-hand or from memory, as each row says; the paid standards were not
read in full. A class is listed where **any** of them asks for the feature, so a row may be stricter
than the rule that holds where you live.

Limits of validity. A builder's checklist, not a certificate: national law, the maker's declaration
and the measurement of the class come on top. The relief that IEC 60825-1 gives some battery-powered
3B products (from memory) is not used. IEC class names; 3R stands for IIIa of the CFR.
"""

from dataclasses import dataclass

from diodewright.hazard.laser_class import CLASSES

__all__ = ["CONTROLS", "KEPT_BY", "MARKERS", "Control", "emission_delay_min_s", "required_controls"]

#: How well a row's source is known.
MARKERS = ("read", "second-hand", "from memory", "common practice, no source")

#: What must hold a row: never firmware alone where a circuit can do it.
KEPT_BY = ("enclosure", "circuit", "firmware", "marking", "user")

_ALL = CLASSES
_FROM_2 = ("2", "3R", "3B", "4")
_FROM_3R = ("3R", "3B", "4")
_FROM_3B = ("3B", "4")


@dataclass(frozen=True)
class Control:
    """One feature that a class demands.

    Attributes
    ----------
    id : stable name.
    demand : what must be so.
    classes : classes that demand it.
    kept_by : who keeps it, of `KEPT_BY`, the strongest first.
    source : rule and clause.
    marker : how well the source is known, of `MARKERS`.
    """

    id: str
    demand: str
    classes: tuple[str, ...]
    kept_by: tuple[str, ...]
    source: str
    marker: str


CONTROLS: tuple[Control, ...] = (
    Control(
        "protective_housing",
        "no light above class 1 leaves but where the use needs it; no gaps, vents or thin walls",
        _ALL,
        ("enclosure",),
        "21 CFR 1040.10(f)(1); IEC 60825-1 cl. 6.2; ANSI Z136.1 4.3.1",
        "second-hand",
    ),
    Control(
        "housing_interlock",
        "a cover that can be opened in use cuts the light, and one failed switch does not defeat "
        "it; also below class 3R where the opened cover lets out more",
        _FROM_3R,
        ("circuit", "enclosure"),
        "21 CFR 1040.10(f)(2); IEC 60825-1 cl. 6.3; table after ANSI Z136.1 (1988) by OSHA",
        "second-hand",
    ),
    Control(
        "remote_interlock",
        "a connector of its own, 130 V rms at most, whose open terminals stop all emission; the "
        "supply lead does not count, a shorting plug may be supplied",
        _FROM_3B,
        ("circuit",),
        "21 CFR 1040.10(f)(3); IEC 60825-1 cl. 6.4; ANSI Z136.1 4.3.7",
        "second-hand",
    ),
    Control(
        "key",
        "a key or code without which there is no emission; a key comes out only when off",
        _FROM_3B,
        ("circuit",),
        "21 CFR 1040.10(f)(4); IEC 60825-1 cl. 6.6; ANSI Z136.1 4.3.4",
        "second-hand",
    ),
    Control(
        "emission_indicator",
        "a light or sound while it emits, seen without looking into the beam (21 CFR from class "
        "2, IEC 60825-1 from class 3B)",
        _FROM_2,
        ("circuit", "firmware"),
        "21 CFR 1040.10(f)(5); IEC 60825-1 cl. 6.7; ANSI Z136.1 4.3.9",
        "second-hand",
    ),
    Control(
        "indicator_first",
        "the indicator comes on ahead of the light, for long enough to turn away; seen through "
        "the eyewear",
        _FROM_3B,
        ("firmware",),
        "21 CFR 1040.10(f)(5); ANSI Z136.1 4.3.9.1; visible through eyewear from memory",
        "second-hand",
    ),
    Control(
        "emission_delay",
        "indicator on for at least 3 s (class 3B) or 5 s (class 4) before any light; the rules "
        "give no number",
        _FROM_3B,
        ("firmware",),
        "3 to 5 s is common practice",
        "common practice, no source",
    ),
    Control(
        "indicator_fail_safe",
        "a failed indicator prevents emission, or there are two",
        _FROM_3B,
        ("circuit", "firmware"),
        "IEC 60825-1 cl. 6.7",
        "from memory",
    ),
    Control(
        "beam_stop",
        "a fixed beam stop or attenuator (21 CFR from class 2, IEC 60825-1 from class 3B)",
        _FROM_2,
        ("enclosure",),
        "21 CFR 1040.10(f)(6) from memory; IEC 60825-1 cl. 6.8 read in its GOST copy",
        "from memory",
    ),
    Control(
        "manual_reset",
        "after the remote interlock opened, or power was lost for more than 5 s, no light until "
        "somebody resets it by hand",
        ("4",),
        ("circuit", "firmware"),
        "21 CFR 1040.10(f)(10); IEC 60825-1 cl. 6.5",
        "from memory",
    ),
    Control(
        "deliberate_start",
        "every light begins with a fresh action; returning power or a trigger held at power-up "
        "never lights it",
        _FROM_3B,
        ("circuit", "firmware"),
        "follows from the manual reset; for class 3B practice",
        "common practice, no source",
    ),
    Control(
        "class_label",
        "label with class, highest power, wavelength and the standard's edition",
        _ALL,
        ("marking",),
        "21 CFR 1040.10(g); IEC 60825-1 cl. 7; ANSI Z136.1 4.3.14 and 4.7",
        "second-hand",
    ),
    Control(
        "aperture_label",
        "label at the opening that the light comes from",
        _FROM_3R,
        ("marking",),
        "21 CFR 1040.10(g); IEC 60825-1 cl. 7",
        "from memory",
    ),
    Control(
        "housing_label",
        "label on covers behind which there is light of a higher class",
        _ALL,
        ("marking",),
        "21 CFR 1040.10(g); IEC 60825-1 cl. 7",
        "from memory",
    ),
    Control(
        "eyewear",
        "eyewear for everybody near where direct light or its reflections can exceed the limit "
        "(class 3B sometimes, class 4 always)",
        _FROM_3B,
        ("user",),
        "table after ANSI Z136.1 (1988) by OSHA",
        "read",
    ),
)

#: Indicator before light [s]: common practice, no source.
_DELAY_S = {"3B": 3.0, "4": 5.0}


def _check_class(laser_class: str) -> None:
    if laser_class not in CLASSES:
        raise ValueError(f'laser_class = "{laser_class}": not one of {", ".join(CLASSES)}')


def required_controls(laser_class: str) -> tuple[Control, ...]:
    """Return what a class demands, in the order of `CONTROLS`.

    Parameters
    ----------
    laser_class : "1", "2", "3R", "3B" or "4", from `laser_class.classify`.

    Raises
    ------
    ValueError
        For any other class.

    Examples
    --------
    >>> [control.id for control in required_controls("1")]
    ['protective_housing', 'class_label', 'housing_label']
    """
    _check_class(laser_class)
    return tuple(control for control in CONTROLS if laser_class in control.classes)


def emission_delay_min_s(laser_class: str) -> float:
    """Return for how long the indicator must be on before any light [s]; 0 where no rule asks.

    3 s for class 3B and 5 s for class 4: common practice, no source. The rules ask for a time
    long enough to avoid exposure and give no number.

    Raises
    ------
    ValueError
        For a class that is not "1", "2", "3R", "3B" or "4".

    Examples
    --------
    >>> emission_delay_min_s("4")
    5.0
    """
    _check_class(laser_class)
    return _DELAY_S.get(laser_class, 0.0)
