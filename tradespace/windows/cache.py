"""Curves kept on disk: one file per departure body, found again by everything they were made from.

A file is written under a temporary name and renamed, so a killed run leaves whole files only, and the next run
goes on where it stopped. A file that does not match its own checksum is deleted and made again.
"""

from __future__ import annotations

import hashlib
import io
import os
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

import numpy as np

from tradespace.constants import value
from tradespace.physics.compiled import FloatArray, cache_places
from tradespace.tables import DATA

SUFFIX = ".curves"
CHECKSUM = hashlib.sha256().digest_size
SOLVER = (
    "physics/cheapest.py",
    "physics/lambert.py",
    "windows/tracks.py",
    "windows/pairs.py",
    "windows/cache.py",
)
VALUES = "window_values.csv"


def cache_folder() -> Path | None:
    """Folder of the stored curves, beside the compiled kernels; None where nothing can be written."""
    for place in cache_places():
        folder = place / "windows"
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError:
            continue
        if os.access(folder, os.W_OK):
            return folder
    return None


@cache
def solver_version() -> bytes:
    """Checksum of the code and the libraries that make a curve."""
    digest = hashlib.sha256()
    for name in SOLVER:
        digest.update((DATA.parent / name).read_bytes())
    for library in ("numba", "boinor", "numpy"):
        try:
            digest.update(f"{library}={version(library)}".encode())
        except PackageNotFoundError:
            digest.update(f"{library}=?".encode())
    return digest.digest()


def block_key(*parts: bytes) -> str:
    """Name of a block: a checksum of the solver and of everything that went into it."""
    digest = hashlib.sha256(solver_version())
    for part in parts:
        digest.update(len(part).to_bytes(8, "little"))
        digest.update(part)
    return digest.hexdigest()[:40]


def read_block(key: str, shape: tuple[int, ...]) -> FloatArray | None:
    """A stored block, or None if there is none; a damaged one is deleted."""
    folder = cache_folder()
    if folder is None:
        return None
    path = folder / f"{key}{SUFFIX}"
    try:
        data = path.read_bytes()
        os.utime(path)
    except OSError:
        return None
    if hashlib.sha256(data[CHECKSUM:]).digest() == data[:CHECKSUM]:
        block = np.load(io.BytesIO(data[CHECKSUM:]), allow_pickle=False)
        if block.shape == shape:
            return np.asarray(block, dtype=np.float64)
    path.unlink(missing_ok=True)
    return None


def write_block(key: str, block: FloatArray) -> None:
    """Store a block; a disk that is full or read-only only costs the next run its time."""
    folder = cache_folder()
    if folder is None:
        return
    stream = io.BytesIO()
    np.save(stream, block, allow_pickle=False)
    data = stream.getvalue()
    part = folder / f"{key}.{os.getpid()}.part"
    try:
        part.write_bytes(hashlib.sha256(data).digest() + data)
        part.replace(folder / f"{key}{SUFFIX}")
    except OSError:
        part.unlink(missing_ok=True)


def trim_cache(limit: float | None = None) -> int:
    """Delete the files used longest ago until the rest fits; returns how many went.

    Parameters
    ----------
    limit : float, optional
        Bytes allowed; ``cache_size`` of the table of windows unless given.
    """
    folder = cache_folder()
    if folder is None:
        return 0
    found = []
    for path in folder.iterdir():
        try:
            found.append((path.stat().st_mtime, path.stat().st_size, path))
        except OSError:
            continue
    total, gone = 0.0, 0
    most = value("cache_size", VALUES) if limit is None else limit
    for _, size, path in sorted(found, reverse=True):
        total += size
        if total > most:
            path.unlink(missing_ok=True)
            gone += 1
    return gone


def clear_cache() -> int:
    """Delete all stored curves; returns how many files went."""
    return trim_cache(-1.0)
