"""What is known of every metric and every input, as a table."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import pandas as pd

    from tradespace.physics.compiled import FloatArray


def long_table(
    metrics: Sequence[str], inputs: Sequence[str], columns: Mapping[str, FloatArray]
) -> pd.DataFrame:
    """One row for each metric and input; the columns have the shape (metrics, inputs)."""
    import pandas as pd

    return pd.DataFrame(
        {
            "metric": np.repeat(np.array(metrics, dtype=object), len(inputs)),
            "quantity": np.tile(np.array(inputs, dtype=object), len(metrics)),
            **{name: values.ravel() for name, values in columns.items()},
        }
    )
