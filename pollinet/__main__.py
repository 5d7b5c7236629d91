"""`python -m pollinet` is the same as the `pollinet` command."""

import sys


def main() -> int:
    """Run the command line; Ctrl-C ends it without a word, also before there is a program."""
    try:
        from pollinet.cli import main as run

        return run()
    except KeyboardInterrupt:
        return 130


if __name__ == "__main__":
    # A process of the page's own imports this module under another name.
    sys.exit(main())
