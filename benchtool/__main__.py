"""`python -m benchtool` does what the `benchtool` command does."""

import sys

from benchtool.app import main

if __name__ == "__main__":
    sys.exit(main())
