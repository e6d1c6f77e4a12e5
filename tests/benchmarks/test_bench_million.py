"""The benchmark of very many designs runs and says what it measured; it judges no clock."""

from __future__ import annotations

from pathlib import Path

import pytest
from bench_million import asked, timed_run

from tradespace import report, sampling, sensitivity


def test_lines_say_what_was_done(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sensitivity, "analyse", lambda *_: None)
    monkeypatch.setattr(report, "write_report", lambda *_: None)
    study = asked(200)
    assert 200 <= sampling.design_count(study) < 400
    lines = timed_run(study, tmp_path / "run")
    assert "designs a second" in lines[0]
    assert "all columns stay in memory" in lines[2]
    print("\n" + "\n".join(lines))
