"""``python -m flyoff``."""

import sys

from flyoff.cli import main

if __name__ == "__main__":
    sys.exit(main())
