"""`python -m barrelfit.dashboard`: start the board."""

import sys

from barrelfit.dashboard.server.launcher import main

if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
