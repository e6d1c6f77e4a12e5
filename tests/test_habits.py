"""The habits that keep the house in order: format, lint, types and who may import whom."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
DECORATED = re.compile(r"^@(kernel|inlined)$", re.MULTILINE)
COMMANDS = {
    "lint": ["ruff", "check", "."],
    "format": ["ruff", "format", "--check", "."],
    "types": ["mypy"],
    "walls": ["importlinter.cli", "lint"],
}
CODE = {"walls": "from importlinter.cli import lint_imports_command; lint_imports_command()"}


@pytest.mark.parametrize("name", COMMANDS)
def test_habit_is_kept(name: str) -> None:
    command = [sys.executable, "-c", CODE[name]] if name in CODE else [sys.executable, "-m", *COMMANDS[name]]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-2000:]


def test_no_source_file_has_outgrown_its_room() -> None:
    long = {
        path.name: count
        for path in (ROOT / "tradespace").rglob("*.py")
        if (count := len(path.read_text().splitlines())) > 400
    }
    assert not long, f"files past 400 lines become packages: {long}"


def test_top_level_holds_only_what_belongs_there() -> None:
    allowed = {
        "README.md",
        "DEVELOPERS.md",
        "LICENSE",
        "pyproject.toml",
        "tradespace",
        "studies",
        "tests",
        "notebooks",
    }
    tracked = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    if tracked.returncode != 0:
        pytest.skip("not a git checkout")
    top = {line.split("/")[0] for line in tracked.stdout.splitlines()}
    assert {name for name in top if not name.startswith(".")} <= allowed


def test_kernels_live_where_the_cache_name_looks() -> None:
    from tradespace.physics.compiled import COMPILED_ROOMS

    package = ROOT / "tradespace"
    allowed = {path for pattern in COMPILED_ROOMS for path in package.glob(pattern)}
    found = {path for path in package.rglob("*.py") if DECORATED.search(path.read_text(encoding="utf-8"))}
    assert found
    assert found <= allowed
