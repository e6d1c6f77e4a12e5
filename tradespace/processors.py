"""How many processors there are for this process."""

from __future__ import annotations

import os


def processors() -> int:
    """Processors that this process may use, one at least; fewer than the machine has where it was given only some."""
    allowed = getattr(os, "sched_getaffinity", None)
    return max(1, len(allowed(0)) if allowed is not None else os.cpu_count() or 1)
