"""Pieces of a run: which designs belong together, and how a piece is evaluated and written."""

from __future__ import annotations

import contextlib
import hashlib
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from tradespace import constants
from tradespace.evaluate import SETTINGS, evaluate
from tradespace.sweep.ledger import Part, digest, part_name
from tradespace.sweep.parts import write_parquet

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.mission import Mission
    from tradespace.study import Study


@dataclass(frozen=True)
class Chunk:
    """A run of designs of one architecture."""

    number: int
    architecture: str
    first: int
    """Number of its first design among those of its architecture."""
    stop: int
    """One past the number of its last."""


def chunk_designs() -> int:
    """Designs in a chunk; the last one of an architecture may be smaller."""
    return int(constants.value("chunk_designs", SETTINGS))


def chunks_of(study: Study) -> Iterator[Chunk]:
    """All chunks of a study in the order of its designs."""
    from tradespace import sampling

    size, count, number = chunk_designs(), sampling.designs_per_architecture(study), 0
    for architecture in study.architectures:
        for first in range(0, count, size):
            yield Chunk(number, architecture, first, min(first + size, count))
            number += 1


def chunk_count(study: Study) -> int:
    """How many chunks there are."""
    from tradespace import sampling

    return len(study.architectures) * -(-sampling.designs_per_architecture(study) // chunk_designs())


def answered(study: Study, mission: Mission, chunk: Chunk) -> pd.DataFrame:
    """The designs of a chunk with their answers."""
    from tradespace import sampling

    designs = sampling.designs_between(study, chunk.first, chunk.stop)
    return evaluate(study, mission, chunk.architecture, designs)


def write_part(frame: pd.DataFrame, chunk: Chunk, folder: Path) -> Part:
    """Write the answers of a chunk into its file, which is whole or not there.

    Raises
    ------
    OSError
        If it cannot be written; nothing of it is left.
    """
    path = folder / part_name(chunk.number)
    try:
        write_parquet(frame, path)
    except OSError:
        with contextlib.suppress(OSError):
            path.with_suffix(".writing").unlink()
        raise
    closing = int(frame["closes"].sum())
    return Part(
        chunk.number,
        chunk.architecture,
        chunk.first,
        len(frame),
        closing,
        path.name,
        path.stat().st_size,
        digest(path),
    )


def part_bytes(study: Study, mission: Mission, chunk: Chunk) -> tuple[Part, bytes]:
    """A chunk evaluated and written into memory, for a machine that shares no disk with the run."""
    with tempfile.TemporaryDirectory() as folder:
        part = write_part(answered(study, mission, chunk), chunk, Path(folder))
        return part, (Path(folder) / part.file).read_bytes()


def keep_bytes(part: Part, data: bytes, folder: Path) -> Part:
    """Put what :func:`part_bytes` made elsewhere into its file.

    Raises
    ------
    OSError
        If it cannot be written; nothing of it is left.
    ValueError
        If it was damaged on its way.
    """
    if len(data) != part.bytes or hashlib.sha256(data).hexdigest() != part.sha256:
        raise ValueError(f"{part.file} was damaged on its way")
    path = folder / part.file
    temporary = path.with_suffix(".writing")
    try:
        temporary.write_bytes(data)
    except OSError:
        with contextlib.suppress(OSError):
            temporary.unlink()
        raise
    temporary.replace(path)
    return part


def mission_mark(mission: Mission) -> str:
    """SHA-256 of what was looked up for a study: catalogue and windows may change without the study file."""
    found = hashlib.sha256()
    _digest(found, mission)
    return found.hexdigest()


def _digest(found: Any, content: Any) -> None:
    if isinstance(content, np.ndarray):
        found.update(str(content.shape).encode() + np.ascontiguousarray(content).tobytes())
    elif isinstance(content, tuple | list):
        found.update(b"(")
        for item in content:
            _digest(found, item)
        found.update(b")")
    elif hasattr(content, "__dataclass_fields__"):
        for name in content.__dataclass_fields__:
            found.update(name.encode())
            _digest(found, getattr(content, name))
    else:
        found.update(repr(content).encode() + b"\0")
