"""Where the bundled program begins; further processes of a search begin here too."""

import multiprocessing
import sys

if __name__ == "__main__":
    multiprocessing.freeze_support()
    from burstwise.app.launch import main

    sys.exit(main())
