"""Notebooks are kept without outputs and run from top to bottom."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

nbformat = pytest.importorskip("nbformat", reason="the test extra is not installed")
nbclient = pytest.importorskip("nbclient", reason="the test extra is not installed")

ROOT = Path(__file__).parents[1]
NOTEBOOKS = sorted((ROOT / "notebooks").glob("*.ipynb"))


def read(path: Path) -> Any:
    return nbformat.read(path, as_version=4)


def test_there_is_nothing_but_notebooks() -> None:
    assert len(NOTEBOOKS) >= 3
    assert sorted(path for path in (ROOT / "notebooks").iterdir() if path.is_file()) == NOTEBOOKS


@pytest.mark.parametrize("path", NOTEBOOKS, ids=[path.stem for path in NOTEBOOKS])
def test_notebook_is_short_and_kept_without_outputs(path: Path) -> None:
    notebook = read(path)
    nbformat.validate(notebook)
    code = [cell for cell in notebook.cells if cell.cell_type == "code"]
    assert all(not cell.outputs and cell.execution_count is None for cell in code)
    assert notebook.cells[0].cell_type == "markdown"
    assert 4 <= len(notebook.cells) <= 20


@pytest.mark.parametrize("path", NOTEBOOKS, ids=[path.stem for path in NOTEBOOKS])
@pytest.mark.filterwarnings("default")
def test_notebook_runs(path: Path) -> None:
    done = nbclient.NotebookClient(
        read(path), timeout=240, kernel_name="python3", resources={"metadata": {"path": str(ROOT)}}
    ).execute()
    code = [cell for cell in done.cells if cell.cell_type == "code"]
    text = "".join(output.get("text", "") for cell in code for output in cell.outputs)
    assert text.strip()
    assert code[-1].outputs, "the last cell shows something"
