"""The program by `python -m burstwise`."""

import sys

from burstwise.app.launch import main

sys.exit(main())
