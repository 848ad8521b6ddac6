"""Report: one Rehearsal as a screen, a page and figures."""
