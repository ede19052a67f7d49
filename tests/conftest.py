"""Lets the tests share `support`, keeps the rulebooks that they check against, and leaves the user's cache alone."""

from __future__ import annotations

import atexit
import os
import shutil
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

if "CLAUSEWAY_CACHE" not in os.environ:
    os.environ["CLAUSEWAY_CACHE"] = tempfile.mkdtemp(prefix="clauseway-cache-")
    atexit.register(shutil.rmtree, os.environ["CLAUSEWAY_CACHE"], ignore_errors=True)
