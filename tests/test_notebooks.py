"""Notebooks run from top to bottom, through the public interface only."""

from __future__ import annotations

from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
NOTEBOOKS = sorted((ROOT / "notebooks").glob("*.py"))


@pytest.mark.parametrize("path", NOTEBOOKS, ids=[path.stem for path in NOTEBOOKS])
@pytest.mark.filterwarnings("default")
def test_notebook_runs(path: Path) -> None:
    jupytext = pytest.importorskip("jupytext")
    nbclient = pytest.importorskip("nbclient")
    notebook = jupytext.read(path)
    done = nbclient.NotebookClient(
        notebook, timeout=240, kernel_name="python3", resources={"metadata": {"path": str(ROOT)}}
    ).execute()
    text = "".join(
        output.get("text", "") for cell in done.cells if cell.cell_type == "code" for output in cell.outputs
    )
    assert text.strip()
