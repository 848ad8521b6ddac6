"""Where each row of a statement of hazard comes from: rule, clause, and how well it is known.

Source. What stands in the table; the paid standards were not read in full.

Limits of validity. A clause is named so that it can be looked up, not because it was read: the
marker says which.
"""

from dataclasses import dataclass

__all__ = ["MARKERS", "SOURCES", "Source", "source_of"]

#: How well a row is known.
MARKERS = ("read", "second-hand", "from memory", "textbook", "common practice, no source")


@dataclass(frozen=True)
class Source:
    """One rule.

    Attributes
    ----------
    rule : standard or law, with its clause.
    marker : how well it is known, of `MARKERS`.
    """

    rule: str
    marker: str

    @property
    def said(self) -> str:
        """Both in words."""
        return f"{self.rule} ({self.marker})"


_AEL = "IEC 60825-1:2014, tables of accessible emission limits"

SOURCES: dict[str, Source] = {
    "class": Source(_AEL, "second-hand"),
    "class_unseen": Source(_AEL, "from memory"),
    "class_wide": Source(f"{_AEL}, C6 and T2", "from memory"),
    "time_base": Source("IEC 60825-1:2014 cl. 4.3 e)", "second-hand"),
    "single_fault": Source("IEC 60825-1:2014 cl. 5.1", "second-hand"),
    "condition_1": Source("IEC 60825-1:2014 cl. 5.4, condition 1", "from memory"),
    "condition_3": Source("IEC 60825-1:2014 cl. 5.4, condition 3", "second-hand"),
    "thermal": Source("IEC 60825-1:2014 table A.1; ICNIRP 2013 table 5", "second-hand"),
    "thermal_short": Source("BGI 832 table 6a: 18 t^0.75 J/m2", "read"),
    "photochemical": Source("IEC 60825-1:2014 table A.1; ICNIRP 2013", "second-hand"),
    "photochemical_long": Source("IEC 60825-1:2014 table A.1, 1 C3 W/m2", "from memory"),
    "thermal_unseen": Source("IEC 60825-1:2014 table A.1, C4 and C7", "from memory"),
    "beam": Source("thin lens; widths of a Gaussian", "textbook"),
    "direct": Source("IEC TR 60825-14; ANSI Z136.1 appendix B", "second-hand"),
    "binoculars": Source("IEC TR 60825-14, gain of 50", "from memory"),
    "matt": Source("Lambert's law", "textbook"),
    "glossy": Source("Fresnel and Lambert", "textbook"),
    "density": Source("IEC TR 60825-14: OD = log10(H0 / limit)", "second-hand"),
    "scale": Source("EN 207:2017, public copies of its table", "read"),
    "skin": Source("IEC 60825-1:2014 table A.5, 0.2 W/cm2 x C4", "second-hand"),
    "group": Source("IEC 62471:2006 cl. 6, limits 100, 1e4, 4e6 W/(m2 sr)", "from memory"),
    "weighting": Source("IEC 62471:2006 B(lambda), as luxpy 1.12.5 has it", "read"),
    "look": Source("2006/25/EC annex I: 1e6 / t", "from memory"),
    "small": Source("IEC 62471:2006, small source, 1 and 400 W/m2", "from memory"),
    "retinal": Source("IEC 62471:2006, retinal thermal", "from memory"),
    "controls": Source("21 CFR 1040.10; IEC 60825-1:2014 cl. 6, 7", "second-hand"),
    "led_box": Source("a closed box where RG3 would reach people", "common practice, no source"),
}


def source_of(name: str) -> Source:
    """Return the source of that name.

    Raises
    ------
    ValueError
        There is none [in the table].

    Examples
    --------
    >>> source_of("scale").said
    'EN 207:2017, public copies of its table (read)'
    """
    if name not in SOURCES:
        raise ValueError(f'source "{name}": not in the table')
    return SOURCES[name]
