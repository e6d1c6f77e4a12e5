"""The first run after an installation compiles the kernels; a second process takes half of that work."""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

from tradespace.processors import processors

PATIENCE = 120.0  # s; after that this process compiles the rest itself


def is_compiled() -> bool:
    """Whether the cache already holds the compiled campaign."""
    folder = os.environ.get("NUMBA_CACHE_DIR", "")
    return bool(folder) and any(Path(folder).rglob("*.fly_all-*.nbi"))


@contextlib.contextmanager
def compiling() -> Iterator[None]:
    """While the body looks up windows (and compiles the transfer solver), compile the campaign in another process.

    Nothing depends on its success: what is not in the cache afterwards is compiled here when it is called.
    """
    if is_compiled() or processors() < 2 or os.environ.get("NUMBA_DISABLE_JIT", "0") not in {"", "0"}:
        yield
        return
    command = [sys.executable, "-c", "from tradespace.evaluate import compile_engine; compile_engine()"]
    paths = os.pathsep.join(path for path in sys.path if path)
    try:
        process = subprocess.Popen(
            command,
            env={**os.environ, "PYTHONPATH": paths},
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
    except OSError:
        yield
        return
    try:
        yield
        with contextlib.suppress(subprocess.TimeoutExpired):
            process.wait(PATIENCE)
    finally:
        if process.poll() is None:
            process.kill()
            process.wait()
