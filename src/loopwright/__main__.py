"""`python -m loopwright` is the command `loopwright`."""

from loopwright.cli import main

main()
