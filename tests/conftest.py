"""Tests see the shipped catalogue only, whatever whoever runs them has imported."""

import os
import tempfile

import pytest

os.environ["TRADESPACE_CATALOGUE"] = os.path.join(tempfile.gettempdir(), "tradespace-tests-import-nothing")  # noqa: PTH118

LONG = (
    "killed_runs habits bench_coverage report_browser dashboard paper notebooks cluster report figures "
    "figures_of_studies "
    "device_figures sensitivity breakeven sweep pairs tour domain_errors cli validation transfer_oracle "
    "campaign_tables engine ephemeris extremes uncertainty variance sampling safe_runs query pareto"
).split()
"""Files that take longest, in the order in which two processes should take them up, so that both end together.

The second one needs no compiled engine: the first process compiles it meanwhile.
"""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The longest files first; the order within a file stays."""
    place = {f"test_{name}.py": index for index, name in enumerate(LONG)}
    items.sort(key=lambda item: place.get(item.path.name, len(place)))
