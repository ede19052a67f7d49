"""`python -m clauseway` runs the command line."""

from clauseway_cli.app import main

main()
