"""What every verb prints: one function a verb, for the command line to call."""

from diodewright.report.screen_case import show_case
from diodewright.report.screen_diff import show_diff
from diodewright.report.screen_hazard import show_hazard
from diodewright.report.screen_lists import show_faults
from diodewright.report.screen_packs import show_packs
from diodewright.report.screen_parts import show_parts
from diodewright.report.screen_proof import show_proof
from diodewright.report.screen_rehearsal import show_rehearsal
from diodewright.report.screen_size import show_size
from diodewright.report.screen_tune import show_choice
from diodewright.report.screen_twin import replay_twin, show_twin
from diodewright.report.screen_watch import recover_watch, show_watch
from diodewright.report.terminal import progress

__all__ = [
    "progress",
    "recover_watch",
    "replay_twin",
    "show_case",
    "show_choice",
    "show_diff",
    "show_faults",
    "show_hazard",
    "show_packs",
    "show_parts",
    "show_proof",
    "show_rehearsal",
    "show_size",
    "show_twin",
    "show_watch",
]
