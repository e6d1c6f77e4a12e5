"""A run's folder: whole or not there at all, never taken from another study or another process."""

from __future__ import annotations

import contextlib
import errno
import hashlib
import json
import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import IO, TYPE_CHECKING

from tradespace.errors import OutputError
from tradespace.sweep.evidence import EVIDENCE, SUMMARY
from tradespace.sweep.ledger import JOURNAL, read_journal, refuse_other_run
from tradespace.sweep.room import bytes_words

if TYPE_CHECKING:
    from tradespace.study import Study


PACKAGE = Path(__file__).parents[1]
FULL = (errno.ENOSPC, errno.EDQUOT)


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


def unfinished(target: Path) -> Path:
    """Folder beside the target in which its run is made."""
    return target.parent / f".{target.name}.unfinished"


def refuse_nothing_to_resume(target: Path) -> None:
    """Say so before anything is written when there is no unfinished run.

    Raises
    ------
    OutputError
        If there is none.
    """
    if not (unfinished(target) / JOURNAL).is_file():
        refuse_other_run(unfinished(target), None, [])


@contextlib.contextmanager
def claimed(target: Path) -> Iterator[Path]:
    """The unfinished folder beside the target, locked for this process; kept for a later try when interrupted.

    Raises
    ------
    OutputError
        If it cannot be written, or another process works there.
    """
    work = unfinished(target)
    try:
        work.mkdir(parents=True, exist_ok=True)
        lock = (work / "lock").open("a+")
    except OSError as error:
        raise _cannot_write(target, work, error) from error
    with lock:
        if not _lock(lock):
            raise OutputError(f"{target} is in use by another run; wait for it or choose another --out")
        try:
            restore(target)
            yield work
        except OSError as error:
            if isinstance(error, OutputError):
                raise
            raise _cannot_write(target, work, error) from error


def _cannot_write(target: Path, work: Path, error: OSError) -> OutputError:
    if error.errno not in FULL:
        return OutputError(f"cannot write {target}: {error.strerror or error}; choose another --out")
    journal = read_journal(work / JOURNAL)
    more = 0.0 if journal is None else journal.bytes_to_come()
    needed = f" (about {bytes_words(more)} more for the designs)" if more else ""
    return OutputError(
        f"the disk of {target} is full; finished parts are kept: free some space{needed} and run the same command "
        "again with --resume"
    )


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


def swap(work: Path, target: Path) -> None:
    """Let the finished folder take the target's place; its lock goes last, so no other process can enter before."""
    old = target.parent / f".{target.name}.replaced"
    if old.exists():
        shutil.rmtree(old)
    if target.exists():
        target.rename(old)
    work.rename(target)
    (target / JOURNAL).unlink()
    (target / "lock").unlink()
    if old.exists():
        shutil.rmtree(old)


def restore(target: Path) -> None:
    """Mend what a process left that died while it put a new run in the place of a former one."""
    old = target.parent / f".{target.name}.replaced"
    if not old.exists():
        return
    if target.exists():
        shutil.rmtree(old)
    else:
        old.rename(target)
