"""Readings built by hand for the tests of the bench: every channel in SI, uncertainties as shares."""

from __future__ import annotations

from typing import Any

import numpy as np

from tradespace.bench.records import Readings

WORDS = {
    "cell_kind": "alkaline", "electrolyte": "potassium_hydroxide", "gas_measured": "hydrogen", "gas_is": "dry",
    "volumes_at": "meter", "chamber_pressure_is": "absolute",
}  # fmt: skip
EXACT = ("time", "cells_in_series", "lit")


def readings(
    words: dict[str, str] | None = None,
    share: float = 1e-3,
    wide: dict[str, float] | None = None,
    **columns: Any,
) -> Readings:
    """Readings with these columns; ``wide`` overrides the share of uncertainty of some of them."""
    size = max(np.size(column) for column in columns.values())
    filled = {
        name: np.broadcast_to(np.asarray(column, float), (size,)).copy() for name, column in columns.items()
    }
    shares = {name: 0.0 if name in EXACT else (wide or {}).get(name, share) for name in filled}
    parts = [{name: shares[name] * np.abs(column) for name, column in filled.items()} for _ in range(2)]
    return Readings(
        "by hand",
        "",
        WORDS | (words or {}),
        filled,
        parts[0],
        parts[1],
        frozenset(),
        np.arange(size, dtype=float),
    )
