"""The paper bundle: a folder with everything of a run that a paper or proposal needs."""

from __future__ import annotations

import hashlib
import json
import shutil
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tradespace.errors import OutputError
from tradespace.figures import draw_figures
from tradespace.figures.export import write_csv as write_figure_data
from tradespace.findings import Account, Source, account_of, result_tables, sources_used
from tradespace.paper import booktabs
from tradespace.paper.bibliography import bibliography, entries
from tradespace.paper.document import document_text, figures_text
from tradespace.paper.methods import methods_text
from tradespace.paper.pictures import write_pictures
from tradespace.sweep import read_run, versions

if TYPE_CHECKING:
    from tradespace.figures import DrawnFigure
    from tradespace.findings import ResultTable
    from tradespace.results import Results

MANIFEST = "manifest.json"
FORMAT = 1
GENERATED = "% Written by tradespace from study {} ({}); changes are lost when the bundle is written again.\n"
Told = Callable[[int, int], None]


@dataclass(frozen=True)
class Bundle:
    """What was written."""

    folder: Path
    files: tuple[str, ...]
    """Paths below the folder, the manifest last."""
    remarks: tuple[str, ...]
    """What could not be written and why; empty when all was."""
    sources: tuple[Source, ...]
    """Entries of the bibliography."""


def write_paper(
    run: str | Path,
    folder: str | Path,
    *,
    images: bool = True,
    keys: Sequence[str] | None = None,
    told: Told | None = None,
) -> Bundle:
    """Write figures, tables, methods and bibliography of a finished run.

    Everything is written beside the folder first and takes its place when it is whole.

    Parameters
    ----------
    run : str or Path
        Folder of a finished run.
    folder : str or Path
        Where the bundle goes; it must be new, empty, or hold an earlier bundle.
    images : bool
        Draw PDF and SVG; without them the bundle holds the data of the figures alone.
    keys : sequence of str, optional
        Registered figures to draw; all of them unless given.
    told : callable, optional
        Called now and then with pictures done and pictures in all.

    Returns
    -------
    Bundle
        What was written, with a remark for what could not be.

    Raises
    ------
    OutputError
        If the run cannot be read or the folder not be written, or it holds something else.
    UnknownNameError
        If a figure is not registered.
    """
    target = Path(folder)
    refuse_foreign(target)
    results = read_run(run)
    drawn = list(draw_figures(results, keys))
    work = target.with_name(f".{target.name}.writing")
    try:
        shutil.rmtree(work, ignore_errors=True)
        work.mkdir(parents=True)
        bundle = fill(work, results, account_of(run), drawn, images=images, told=told)
        if target.exists():
            shutil.rmtree(target)
        work.replace(target)
    except OSError as error:
        if isinstance(error, OutputError):
            raise
        raise OutputError(f"cannot write the bundle {target}: {error.strerror or error}") from error
    finally:
        shutil.rmtree(work, ignore_errors=True)
    return Bundle(target, bundle.files, bundle.remarks, bundle.sources)


def refuse_foreign(target: Path) -> None:
    """Refuse a place that holds something else than a bundle.

    Raises
    ------
    OutputError
        If it does.
    """
    if not target.exists():
        return
    if not target.is_dir():
        raise OutputError(f"{target} is a file; give another folder with --out")
    if any(target.iterdir()) and not is_bundle(target):
        raise OutputError(
            f"{target} holds something else than a paper bundle; give an empty or a new folder with --out"
        )


def is_bundle(target: Path) -> bool:
    """Whether a folder holds a bundle that may be replaced."""
    try:
        content = json.loads((target / MANIFEST).read_text(encoding="utf-8"))
        return isinstance(content, dict) and "paper_bundle" in content
    except (OSError, ValueError):
        return False


def fill(
    work: Path, results: Results, account: Account, drawn: Sequence[DrawnFigure], *, images: bool = True,
    told: Told | None = None,
) -> Bundle:  # fmt: skip
    """Write every file of a bundle into an empty folder.

    Parameters
    ----------
    work : Path
        The folder.
    results : Results
        What a run gave.
    account : Account
        The models that answered it.
    drawn : sequence of DrawnFigure
        Its figures.
    images : bool
        Draw PDF and SVG.
    told : callable, optional
        Called now and then with pictures done and pictures in all.
    """
    remarks = [account.remark] if account.remark else []
    sources = entries(sources_used(results, account))
    cited = frozenset(one.key for one in sources)
    tables = result_tables(results)
    head = GENERATED.format(results.study.name, str(results.study.hash)[:16])
    write_tables(work, tables, cited, head)
    write_data(work, drawn)
    pictured: Sequence[DrawnFigure] = drawn if images else ()
    if images:
        try:
            failed = write_pictures(drawn, work / "figures", told).failed
            remarks += [f"figure {key}: {words}" for key, words in failed.items()]
            pictured = [item for item in drawn if item.key not in failed]
        except OutputError as error:
            remarks.append(str(error))
            for kind in ("single", "double"):
                shutil.rmtree(work / "figures" / kind, ignore_errors=True)
            pictured = ()
    _write(work / "references.bib", head + bibliography(sources))
    _write(work / "methods.tex", head + methods_text(results, account, cited))
    _write(work / "figures.tex", head + figures_text(pictured))
    _write(work / "bundle.tex", head + document_text(results, tables, pictured, cited))
    files = sorted(path.relative_to(work).as_posix() for path in work.rglob("*") if path.is_file())
    content = manifest(results, account, sources, drawn, tables, remarks)
    content["files"] = {name: hashlib.sha256((work / name).read_bytes()).hexdigest() for name in files}
    _write(work / MANIFEST, json.dumps(content, indent=1, allow_nan=False) + "\n")
    return Bundle(work, (*files, MANIFEST), tuple(remarks), tuple(sources))


def write_tables(work: Path, tables: Iterable[ResultTable], cited: frozenset[str], head: str) -> None:
    """Each table as LaTeX and as CSV."""
    (work / "tables").mkdir()
    for table in tables:
        _write(work / "tables" / f"{table.key}.tex", head + booktabs.latex_table(table, cited))
        booktabs.write_csv(table, work / "tables" / f"{table.key}.csv")


def write_data(work: Path, drawn: Sequence[DrawnFigure]) -> None:
    """The numbers behind every figure."""
    (work / "figures" / "data").mkdir(parents=True)
    for item in drawn:
        write_figure_data(item, work / "figures" / "data" / f"{item.key}.csv")


def manifest(
    results: Results, account: Account, sources: Sequence[Source], drawn: Sequence[DrawnFigure],
    tables: Sequence[ResultTable], remarks: Sequence[str],
) -> dict[str, Any]:  # fmt: skip
    """What the bundle was made from, with what, and what is in it."""
    study = results.study
    return {
        "paper_bundle": FORMAT,
        "written": datetime.now(UTC).strftime("%Y-%m-%d"),
        "study": {"name": study.name, "title": study.title, "sha256": study.hash, "seed": study.seed},
        "designs": len(results.designs),
        "closing": int(results.designs["closes"].sum()),
        "versions_of_the_run": dict(results.versions),
        "versions_of_the_bundle": versions(),
        "remarks": list(remarks),
        "figures": {
            item.key: {
                "title": item.title,
                "section": item.section,
                "caption": item.caption,
                "source": item.source,
            }
            for item in drawn
        },
        "tables": {table.key: {"caption": table.caption, "rows": len(table.rows)} for table in tables},
        "models": {one.path: list(one.keys) for one in account.models},
        "steps": dict(account.steps),
        "rows_of_value_tables": [list(row) for row in account.rows],
        "sources": {one.key: list(one.used_for) for one in sources},
        "sources_to_check_before_citing": [one.key for one in sources if one.unchecked],
    }


def _write(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8")
