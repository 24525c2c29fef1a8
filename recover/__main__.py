"""`python -m recover`, and what the command `recover` calls."""

import sys


def main() -> None:
    """Run the command line; Ctrl-C while it is still being read in ends quietly: nothing was begun."""
    try:
        from recover.commands.cli import main as run

        run()
    except KeyboardInterrupt:
        sys.exit(130)


if __name__ == "__main__":
    main()
