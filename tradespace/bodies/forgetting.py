"""Taking imported bodies out of the user's own catalogue."""

from __future__ import annotations

from collections.abc import Sequence

from tradespace.catalogue import catalogue_row
from tradespace.catalogue.own import ORIGIN, SHIPPED, Own, delete_own, read_own, stamp, write_own
from tradespace.errors import UnknownNameError


def forget_bodies(names: Sequence[str]) -> list[str]:
    """Forget these imported bodies; returns their names.

    Raises
    ------
    UnknownNameError
        If a body is unknown, or comes with Tradespace; nothing is forgotten then.
    """
    own = read_own(stamp())
    chosen: dict[str, str] = {}
    for name in names:
        row = catalogue_row(name)
        if row[ORIGIN] == SHIPPED:
            raise UnknownNameError(
                f"{row['name']} comes with Tradespace and stays; only imported bodies can be forgotten"
            )
        chosen[row["id"]] = row["name"]
    rows = tuple(row for row in own.rows if row["id"] not in chosen)
    ellipses = tuple(row for row in own.elements if row["id"] not in chosen)
    if rows:
        write_own(Own(rows, ellipses))
    else:
        delete_own()
    return list(chosen.values())


def forget_all() -> list[str]:
    """Delete the user's own catalogue, damaged or not; returns the files that were there."""
    return [str(path) for path in delete_own()]
