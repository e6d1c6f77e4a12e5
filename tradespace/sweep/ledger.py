"""What a run has finished: noted line by line while it goes on, checked when it is taken up again."""

from __future__ import annotations

import errno
import hashlib
import json
import os
import threading
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tradespace.errors import OutputError

if TYPE_CHECKING:
    from tradespace.study import Study

FORMAT = 1
JOURNAL = "ledger.jsonl"
"""One line for the run and one for every finished part, while it is unfinished."""
LEDGER = "ledger.json"
"""The same, sorted, in a finished run."""
DESIGNS = "designs"
FINISHED = "finished"
SHOWN = 3


@dataclass(frozen=True)
class Part:
    """One finished chunk of designs and the file that holds it."""

    chunk: int
    architecture: str
    first: int
    """Number of its first design among those of its architecture."""
    rows: int
    closing: int
    file: str
    bytes: int
    sha256: str
    state: str = FINISHED


def part_name(chunk: int) -> str:
    """File of a chunk."""
    return f"part-{chunk:05d}.parquet"


def digest(path: Path) -> str:
    """SHA-256 of a file."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def damage(folder: Path, part: Part, *, whole: bool = True) -> str:
    """What is wrong with the file of a part, in words; empty when nothing is.

    Parameters
    ----------
    folder : Path
        Folder of the parts.
    part : Part
        What the ledger says about it.
    whole : bool
        Also read it and compare the checksum, not only the size.
    """
    path = folder / part.file
    try:
        size = path.stat().st_size
        if size != part.bytes:
            return f"has {size} bytes instead of {part.bytes}"
        return "has another checksum" if whole and digest(path) != part.sha256 else ""
    except FileNotFoundError:
        return "is missing"
    except OSError as error:
        return f"cannot be read ({error.strerror})"


def identity(study: Study, chunk_designs: int, designs: int, chunks: int) -> dict[str, Any]:
    """What a part depends on; parts of runs that differ in any of it are never mixed."""
    from tradespace.sweep.evidence import versions
    from tradespace.sweep.folder import source_mark

    return {
        "format": FORMAT,
        "study": study.name,
        "study_hash": study.hash,
        "seed": study.seed,
        "designs": designs,
        "chunk_designs": chunk_designs,
        "chunks": chunks,
        "source_mark": source_mark(),
        "versions": versions(),
    }


def differences(then: Mapping[str, Any], now: Mapping[str, Any]) -> list[str]:
    """How two runs differ, in words."""
    found = []
    if then.get("study") != now.get("study"):
        found.append(f"it is of study {then.get('study')!r}, not {now.get('study')!r}")
    elif then.get("study_hash") != now.get("study_hash"):
        found.append("the study file has changed since")
    if then.get("seed") != now.get("seed"):
        found.append(f"its seed is {then.get('seed')}, not {now.get('seed')}")
    old, new = then.get("versions") or {}, now.get("versions") or {}
    names = [name for name in dict.fromkeys((*old, *new)) if old.get(name) != new.get(name)]
    found += [f"it was made with {name} {old.get(name)}, now {new.get(name)}" for name in names]
    if then.get("source_mark") != now.get("source_mark"):
        found.append("the code or the data of tradespace have changed since")
    sizes = [
        name for name in ("format", "chunk_designs", "chunks", "designs") if then.get(name) != now.get(name)
    ]
    if sizes and not found:
        found.append("its designs were divided otherwise")
    return found


class Ledger:
    """The journal of a run in progress."""

    def __init__(self, work: Path, about: Mapping[str, Any]) -> None:
        self.work = work
        self.about = dict(about)
        self.mission = ""
        """Digest of what was looked up for the study; empty until it is known."""
        self.parts: dict[int, Part] = {}
        self.notes: list[str] = []
        self._lock = threading.Lock()

    @property
    def designs(self) -> Path:
        """Folder of the parts."""
        return self.work / DESIGNS

    def write(self) -> None:
        """Write the whole journal anew, under a temporary name first."""
        lines = [self.about, *([{"mission": self.mission}] if self.mission else [])]
        lines += [asdict(part) for _, part in sorted(self.parts.items())]
        temporary = self.work / f"{JOURNAL}.writing"
        temporary.write_text("".join(_line(line) for line in lines), encoding="utf-8")
        temporary.replace(self.work / JOURNAL)

    def add(self, part: Part) -> None:
        """Note a finished part, whose file is in place; any thread may call it.

        Raises
        ------
        OSError
            If the disk is full.
        """
        with self._lock:
            self._append(asdict(part))
            self.parts[part.chunk] = part

    def _append(self, content: Mapping[str, Any]) -> None:
        data = _line(content).encode()
        handle = os.open(self.work / JOURNAL, os.O_WRONLY | os.O_APPEND)
        try:
            if os.write(handle, data) != len(data):
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        finally:
            os.close(handle)

    def fix_mission(self, mark: str) -> bool:
        """Note what was looked up for the study, and say whether it is what the finished parts rest on."""
        same = not self.mission or self.mission == mark
        if not same:
            self.parts.clear()
            clear(self.designs)
        if self.mission != mark:
            self.mission = mark
            self.write()
        return same

    def check(self, wrong: Mapping[int, str]) -> None:
        """Forget the parts that are wrong, and note it.

        Parameters
        ----------
        wrong : mapping of int to str
            Chunk numbers and what is wrong with their files.
        """
        for chunk, words in sorted(wrong.items()):
            self.notes.append(f"{self.parts.pop(chunk).file} {words}: its designs were evaluated again.")
        known = {part.file for part in self.parts.values()}
        strangers = []
        for entry in sorted(self.designs.iterdir()):
            if entry.name in known:
                continue
            if entry.suffix == ".parquet" and not any(entry.name == part_name(chunk) for chunk in wrong):
                strangers.append(entry.name)
            remove(entry)
        if strangers:
            more = f" and {len(strangers) - SHOWN} more" if len(strangers) > SHOWN else ""
            self.notes.append(
                f"{', '.join(strangers[:SHOWN])}{more} in the unfinished run had no entry in its ledger and were not "
                "taken over."
            )
        if wrong:
            self.write()

    def bytes_per_design(self) -> float:
        """Mean size of what is finished; 0 when nothing is."""
        rows = sum(part.rows for part in self.parts.values())
        return sum(part.bytes for part in self.parts.values()) / rows if rows else 0.0

    def bytes_to_come(self) -> float:
        """Roughly what the unfinished parts will take; 0 when it is not known."""
        rows = sum(part.rows for part in self.parts.values())
        return self.bytes_per_design() * (int(self.about["designs"]) - rows)

    def finish(self) -> None:
        """Write the final ledger: the same whatever interruptions there were, whatever did the work.

        Raises
        ------
        OutputError
            If a part is missing.
        """
        parts = [part for _, part in sorted(self.parts.items())]
        if len(parts) != self.about["chunks"]:
            raise OutputError(
                f"{len(parts)} of {self.about['chunks']} parts are finished; run the study again"
            )
        content = {
            **self.about,
            "mission": self.mission,
            "closing": sum(part.closing for part in parts),
            "parts": [asdict(part) for part in parts],
        }
        temporary = self.work / f"{LEDGER}.writing"
        temporary.write_text(json.dumps(content, indent=1, allow_nan=False) + "\n", encoding="utf-8")
        temporary.replace(self.work / LEDGER)


def _line(content: Mapping[str, Any]) -> str:
    return json.dumps(content, allow_nan=False) + "\n"


def open_ledger(work: Path, about: Mapping[str, Any], *, resume: bool = False, fresh: bool = False) -> Ledger:
    """Take up the journal of an unfinished run, or begin a new one.

    Parameters
    ----------
    work : Path
        The unfinished folder, which this process has locked.
    about : mapping
        What the run is to be, as :func:`identity` gives it.
    resume : bool
        Demand that there is a run to go on with.
    fresh : bool
        Begin anew whatever is there.

    Raises
    ------
    OutputError
        If there is nothing to go on with although that is demanded.
    """
    ledger = Ledger(work, about)
    found = read_journal(work / JOURNAL)
    differ = [] if found is None else differences(found.about, about)
    if resume:
        refuse_other_run(work, found, differ)
    if found is not None and not differ and not fresh:
        ledger.mission, ledger.parts = found.mission, found.parts
        ledger.write()  # without a torn last line
        ledger.designs.mkdir(exist_ok=True)
        return ledger
    if differ and not fresh:
        ledger.notes.append(f"An unfinished run was there and was not taken over: {'; '.join(differ)}.")
    clear(work, keep=("lock",))
    ledger.designs.mkdir()
    ledger.write()
    return ledger


def refuse_other_run(work: Path, found: Ledger | None, differ: list[str]) -> None:
    """Say why an unfinished run cannot be gone on with.

    Raises
    ------
    OutputError
        If it cannot.
    """
    target = work.parent / work.name.removeprefix(".").removesuffix(".unfinished")
    if found is None:
        if (target / LEDGER).is_file():
            raise OutputError(f"{target} is finished: nothing to resume; leave --resume out to run it again")
        raise OutputError(
            f"no unfinished run of {target}: nothing to resume; leave --resume out to begin one"
        )
    if differ:
        raise OutputError(
            f"the unfinished run of {target} cannot go on: {'; '.join(differ)}; give --fresh to begin anew"
        )


def read_journal(path: Path) -> Ledger | None:
    """The journal of an unfinished run; None when there is none that says what it belongs to.

    A last line that was being written when the process died is passed over, and so is any other that is no entry.
    """
    try:
        lines = path.read_bytes().split(b"\n")
    except OSError:
        return None
    contents = list(_objects(lines))
    if not contents or "study_hash" not in contents[0]:
        return None
    ledger = Ledger(path.parent, contents[0])
    for content in contents[1:]:
        if "mission" in content:
            ledger.mission = str(content["mission"])
            continue
        part = _part(content)
        if part is not None:
            ledger.parts[part.chunk] = part
    return ledger


def _objects(lines: Iterable[bytes]) -> Iterator[dict[str, Any]]:
    for line in lines:
        try:
            content = json.loads(line)
        except ValueError:  # torn, or no text
            continue
        if isinstance(content, dict):
            yield content


def _part(content: Mapping[str, Any]) -> Part | None:
    """An entry of a ledger; None when it is none."""
    kinds = {"int": int, "str": str}
    whole = all(type(content.get(field.name)) is kinds[str(field.type)] for field in fields(Part))
    if not whole or set(content) != {field.name for field in fields(Part)}:
        return None
    part = Part(**content)
    return part if part.file == part_name(part.chunk) and part.state == FINISHED else None


def read_ledger(folder: Path) -> tuple[dict[str, Any], tuple[Part, ...]] | None:
    """What a finished run says of itself and its parts; None when it has no ledger.

    Raises
    ------
    OutputError
        If the ledger is damaged.
    """
    path = folder / LEDGER
    if not path.is_file():
        return None
    try:
        content = json.loads(path.read_text(encoding="utf-8"))
        parts = [_part(item) for item in content.pop("parts")]
        kept = tuple(part for part in parts if part is not None)
        if len(kept) != len(parts) or len(kept) != content["chunks"]:
            raise ValueError("entries are missing")
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as error:
        raise OutputError(f"{path} is damaged ({error}); run the study again") from error
    return content, kept


def clear(folder: Path, keep: tuple[str, ...] = ()) -> None:
    """Remove what is in a folder."""
    for entry in folder.iterdir():
        if entry.name not in keep:
            remove(entry)


def remove(entry: Path) -> None:
    """Remove a file, or a folder with all that is in it."""
    import shutil

    if entry.is_dir() and not entry.is_symlink():
        shutil.rmtree(entry)
    else:
        entry.unlink()


def settle(folder: Path) -> None:
    """See that everything in a folder is on the disk before the folder is said to be finished."""
    for place, _, names in os.walk(folder):
        for name in (*names, ""):
            path = Path(place) / name if name else Path(place)
            try:
                handle = os.open(path, os.O_RDONLY)
            except OSError:  # a system that opens no folders
                continue
            try:
                os.fsync(handle)
            except OSError as error:
                if error.errno in {errno.ENOSPC, errno.EIO, errno.EDQUOT}:
                    raise
            finally:
                os.close(handle)
