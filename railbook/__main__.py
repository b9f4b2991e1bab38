"""python -m railbook."""

from railbook.cli import main

main()
