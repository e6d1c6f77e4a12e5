"""Records of a set of designs from what all of them share and what each has of its own."""

from __future__ import annotations

from typing import Any

from tradespace.physics.compiled import kernel
from tradespace.spacecraft.power import cruise_power


@kernel
def lay_out(shared: Any, places: Any, columns: Any, rows: Any) -> None:
    """Fill the rows of the design records, shape (n, fields), field after field of one design after the other.

    ``shared`` (fields,) holds what all designs have, ``columns`` (m, n) what each has in the fields at ``places`` (m,).
    """
    for row in range(rows.shape[0]):
        for field in range(rows.shape[1]):
            rows[row, field] = shared[field]
        for column in range(places.shape[0]):
            rows[row, places[column]] = columns[column, row]


@kernel
def find_live_power(
    designs: Any, fields: Any, places: Any, columns: Any, distance: float, powers: Any
) -> None:
    """Power left for propulsion in cruise when the campaign begins, for every design [W], shape (n,).

    ``designs`` holds one design and ``fields`` is the same memory as numbers; ``places`` and ``columns`` are as in
    :func:`lay_out`.
    """
    for row in range(powers.shape[0]):
        for column in range(places.shape[0]):
            fields[places[column]] = columns[column, row]
        powers[row] = cruise_power(designs[0], distance, 0.0, 1.0)
