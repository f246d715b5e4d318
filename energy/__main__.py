"""``python -m energy``: the same as ``dryer-energy``."""

import sys

from energy.cli import main

sys.exit(main())
