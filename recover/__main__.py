"""`python -m recover`."""

from recover.commands.cli import main

main()
