"""A run's folder: whole or not there at all, never taken from another study or another process."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import IO, TYPE_CHECKING

from tradespace.errors import OutputError
from tradespace.sweep.evidence import EVIDENCE, SUMMARY, versions

if TYPE_CHECKING:
    from tradespace.study import Study


PACKAGE = Path(__file__).parents[1]


def refuse_foreign(target: Path, study: Study, overwrite: bool) -> None:
    """Never replace what is not a run, nor another study's run unless told to.

    Raises
    ------
    OutputError
        If the folder holds something else.
    """
    refuse_other(target, study, overwrite, SUMMARY, ("no finished run", "the run"))
    if target.is_dir() and any(target.iterdir()) and not (target / EVIDENCE).is_dir():
        raise OutputError(f"{target} is not empty and holds no complete run; choose another --out")


def refuse_other(target: Path, study: Study, overwrite: bool, summary: str, called: tuple[str, str]) -> None:
    """Refuse a folder that holds anything but the outcome of this study, or of another one unless told to replace it.

    Parameters
    ----------
    target : Path
        The folder.
    study : Study
        The study whose outcome is to go there.
    overwrite : bool
        Whether the outcome of another study may be replaced.
    summary : str
        File of an outcome that names its study.
    called : tuple of str
        What an outcome is called where there is none, and where there is one.

    Raises
    ------
    OutputError
        If the folder holds something else.
    """
    if not target.exists():
        return
    if not target.is_dir():
        raise OutputError(f"{target} is a file, not a folder; choose another --out")
    if not any(target.iterdir()):
        return
    try:
        found = json.loads((target / summary).read_text(encoding="utf-8"))["study"]
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise OutputError(f"{target} is not empty and holds {called[0]}; choose another --out") from error
    if found != study.name and not overwrite:
        raise OutputError(
            f"{target} holds {called[1]} of study {found!r}, not {study.name!r}; give --overwrite to replace it"
        )


@contextlib.contextmanager
def claimed(target: Path, study: Study) -> Iterator[Path]:
    """The unfinished folder beside the target, locked for this process; kept for a later try when interrupted."""
    work = target.parent / f".{target.name}.unfinished"
    try:
        work.mkdir(parents=True, exist_ok=True)
        lock = (work / "lock").open("a+")
    except OSError as error:
        raise OutputError(f"cannot write {target}: {error.strerror}; choose another --out") from error
    with lock:
        if not _lock(lock):
            raise OutputError(f"{target} is in use by another run; wait for it or choose another --out")
        restore(target)
        key = f"{study.hash} {json.dumps(versions(), sort_keys=True)} {source_mark()}"
        ledger = work / "ledger"
        try:
            if not ledger.is_file() or ledger.read_text(encoding="utf-8") != key:
                _empty(work)
                (work / "designs").mkdir()
                ledger.write_text(key, encoding="utf-8")
            yield work
        except OSError as error:
            if isinstance(error, OutputError):
                raise
            raise OutputError(
                f"cannot write {target}: {error.strerror or error}; choose another --out"
            ) from error


def source_mark() -> str:
    """Changes with the code and data, so that parts made by other formulas are not taken over."""
    digest = hashlib.sha256()
    for path in sorted(PACKAGE.rglob("*")):
        if path.suffix in {".py", ".csv"}:
            digest.update(path.read_bytes())
    return digest.hexdigest()


def _lock(handle: IO[str]) -> bool:
    """Take the lock, or say that another process has it."""
    try:
        import fcntl
    except ImportError:  # a system without advisory locks
        return True
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        # the folder may have been finished and moved since the file was opened
        return os.path.samestat(os.fstat(handle.fileno()), Path(handle.name).stat())
    except OSError:
        return False


def _empty(folder: Path) -> None:
    for entry in folder.iterdir():
        if entry.name == "lock":
            continue
        if entry.is_dir() and not entry.is_symlink():
            shutil.rmtree(entry)
        else:
            entry.unlink()


def swap(work: Path, target: Path) -> None:
    """Let the finished folder take the target's place; its lock goes last, so no other process can enter before."""
    old = target.parent / f".{target.name}.replaced"
    if old.exists():
        shutil.rmtree(old)
    if target.exists():
        target.rename(old)
    work.rename(target)
    (target / "ledger").unlink()
    (target / "lock").unlink()
    if old.exists():
        shutil.rmtree(old)


def restore(target: Path) -> None:
    """Put the former run back if a process died between taking it away and putting the new one in its place."""
    old = target.parent / f".{target.name}.replaced"
    if old.exists() and not target.exists():
        old.rename(target)
