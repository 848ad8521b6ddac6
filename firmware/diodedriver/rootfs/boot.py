"""Dark before anything else runs."""

from diodedriver.board import all_dark

all_dark()
