"""Tests see the shipped catalogue only, whatever whoever runs them has imported."""

import os
import tempfile

os.environ["TRADESPACE_CATALOGUE"] = os.path.join(tempfile.gettempdir(), "tradespace-tests-import-nothing")  # noqa: PTH118
