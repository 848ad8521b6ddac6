"""What today's documents hand over, of a shipped build: for documents of earlier versions."""

from typing import Any

from diodewright.build import load
from diodewright.rehearse.handed import card_of, derate_of, given_rows, versions

#: Curves of a size made by hand, straight lines: what a document holds for them.
CURVES: dict[str, dict[str, list[float]]] = {
    "over_current": {
        "current_A": [0.5, 1.0, 1.5, 2.0],
        "light_lm": [100.0, 250.0, 400.0, 500.0],
        "steady_lm": [90.0, 220.0, 340.0, 400.0],
        "junction_degC": [40.0, 55.0, 72.0, 90.0],
        "steady_junction_degC": [50.0, 80.0, 108.0, 140.0],
    },
    "discharge": {
        "light_s": [0.0, 3600.0, 7200.0],
        "pack_V": [8.2, 7.2, 6.5],
        "pack_A": [0.9, 1.1, 0.3],
        "diode_A": [1.5, 1.5, 0.3],
        "light_lm": [410.0, 410.0, 50.0],
    },
}


def handed(build: str) -> dict[str, Any]:
    """Return what a document of a shipped build hands over."""
    loaded = load(build)
    return {
        "given": given_rows(loaded),
        "derate": derate_of(loaded),
        "card": card_of(loaded),
        "versions": versions(),
        "curves": CURVES,
    }
