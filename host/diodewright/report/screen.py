"""What every verb prints: one function a verb, for the command line to call."""

from diodewright.report.screen_against import show_against
from diodewright.report.screen_burst import show_burst
from diodewright.report.screen_case import show_case
from diodewright.report.screen_characterise import Asked, show_characterise, show_incoming
from diodewright.report.screen_diff import show_diff
from diodewright.report.screen_fit import show_fit
from diodewright.report.screen_flash import Shop, show_flash, show_flash_check
from diodewright.report.screen_hazard import show_hazard
from diodewright.report.screen_lists import show_faults
from diodewright.report.screen_packs import show_packs
from diodewright.report.screen_parts import show_parts
from diodewright.report.screen_proof import show_proof
from diodewright.report.screen_rehearsal import show_rehearsal
from diodewright.report.screen_size import show_size
from diodewright.report.screen_tune import show_choice
from diodewright.report.screen_twin import replay_twin, show_twin
from diodewright.report.terminal import progress

__all__ = [
    "Asked",
    "Shop",
    "progress",
    "replay_twin",
    "show_against",
    "show_burst",
    "show_case",
    "show_characterise",
    "show_choice",
    "show_diff",
    "show_faults",
    "show_fit",
    "show_flash",
    "show_flash_check",
    "show_hazard",
    "show_incoming",
    "show_packs",
    "show_parts",
    "show_proof",
    "show_rehearsal",
    "show_size",
    "show_twin",
]
