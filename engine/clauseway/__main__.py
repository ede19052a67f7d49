"""`python -m clauseway` runs the command line."""

from clauseway_cli.entry import main

main()
