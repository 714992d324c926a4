"""`python -m evenhand.cli` is the command `evenhand`."""

import sys

from evenhand.cli.main import main

sys.exit(main())
