"""`python -m simcal`: the same as the command `simcal`."""

import sys

from simcal.cli import main

if __name__ == "__main__":
    sys.exit(main())
