"""`python -m pollinet` is the same as the `pollinet` command."""

import sys

from pollinet.cli import main

if __name__ == "__main__":
    # A process of the page's own imports this module under another name.
    sys.exit(main())
