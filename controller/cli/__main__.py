"""`python -m controller.cli`: the same as `warmdraw`."""

import sys

from controller.cli import main

if __name__ == "__main__":
    sys.exit(main())
