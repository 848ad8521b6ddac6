"""The Tally: what the judge needs of a run, filled inside the loop, without a Trace."""

from diodewright.plant.params import Row

__all__ = ["NEVER", "TALLY"]

#: First times of what did not happen.
NEVER = -1.0


def _row(name: str, unit: str, meaning: str, start: float) -> Row:
    return Row(name, unit, meaning, -1e300, 1e300, start)


TALLY: tuple[Row, ...] = (
    _row("dark_A", "A", "diode current below this counts as dark: 1 % of the set-point", 0.0),
    _row("elapsed_s", "s", "since this tally began", 0.0),
    _row("peak_current_A", "A", "highest true diode current, ripple and edges included", 0.0),
    _row("peak_junction_degC", "degC", "highest true junction temperature", -273.15),
    _row("peak_mount_degC", "degC", "highest true mount temperature", -273.15),
    _row("peak_sink_degC", "degC", "highest true sink temperature", -273.15),
    _row("peak_a_degC", "degC", "highest channel temperature of cut-off A", -273.15),
    _row("peak_pass_degC", "degC", "highest channel temperature of a linear stage", -273.15),
    _row("peak_light_W", "W", "highest light", 0.0),
    _row("peak_pack_A", "A", "highest pack current", 0.0),
    _row("least_pack_V", "V", "lowest pack voltage", 1e300),
    _row("lit_s", "s", "time lit", 0.0),
    _row("first_lit_s", "s", "first lit", NEVER),
    _row("last_lit_s", "s", "last lit", NEVER),
    _row("against_s", "s", "lit against key, interlock or trigger: the stretch that runs", 0.0),
    _row("longest_against_s", "s", "longest such stretch", 0.0),
    _row("first_heat_cut_s", "s", "first held below the level by heat", NEVER),
    _row("first_pack_cut_s", "s", "first held below the level by the pack", NEVER),
    _row("first_fault_s", "s", "first latched fault", NEVER),
    _row("first_cause", "code", "its row + 1", 0.0),
    _row("end_mode", "code", "the law's mode at the end", 0.0),
)
