"""The program."""

from diodedriver.run import main

main()
