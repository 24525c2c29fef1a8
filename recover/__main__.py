"""`python -m recover`."""

from recover.cli import main

main()
