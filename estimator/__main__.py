"""Run the command with ``python -m estimator``."""

import sys

from estimator.cli.main import main

if __name__ == "__main__":
    sys.exit(main())
