"""`python -m armsim` is the same as `armsim`."""

import sys

from armsim.cli import main

sys.exit(main())
