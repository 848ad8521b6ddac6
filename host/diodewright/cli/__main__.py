"""`python -m diodewright.cli` is the command line."""

from diodewright.cli import main

if __name__ == "__main__":  # a process beside the page imports this module too
    main()
