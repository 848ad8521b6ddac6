"""`python -m diodewright.cli` is the command line."""

from diodewright.cli import main

main()
