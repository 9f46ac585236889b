"""`python -m dashboard`: start the board."""

import sys

from dashboard.launcher import main

if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
