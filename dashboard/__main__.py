"""`python -m barrelfit.dashboard`: start the board."""

import sys

from barrelfit.acquire.loading import load_quickly

if __name__ == "__main__":
    load_quickly()
    from barrelfit.dashboard.server.launcher import main

    sys.exit(main(sys.argv[1:]))
