"""`python -m pollinet` is the same as the `pollinet` command."""

import sys

from pollinet.cli import main

sys.exit(main())
