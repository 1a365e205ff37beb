"""`python -m comeback.cli` does what `comeback` does."""

import sys

from comeback.cli import main

sys.exit(main())
