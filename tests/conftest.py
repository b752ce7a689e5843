"""Puts this folder on the path, so that tests in any folder below can build flights with `synthetic`."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
