"""Whether a run fits on its disk, asked before it starts."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

from tradespace import constants
from tradespace.errors import OutputError

if TYPE_CHECKING:
    from tradespace.mission import Mission
    from tradespace.study import Study
    from tradespace.sweep.ledger import Ledger

SETTINGS = "sweep_settings.csv"
SCALES = ((1e12, "TB"), (1e9, "GB"), (1e6, "MB"), (1e3, "kB"))


def bytes_words(count: float) -> str:
    """A number of bytes in words.

    Examples
    --------
    >>> bytes_words(1.234e9), bytes_words(12)
    ('1.23 GB', '12 bytes')
    """
    for scale, name in SCALES:
        if count >= scale:
            return f"{count / scale:.3g} {name}"
    return f"{count:.0f} bytes"


def refuse_too_large(study: Study, mission: Mission, ledger: Ledger) -> None:
    """Refuse a run whose designs would not fit on the disk, with what they would take and what there is.

    What they take is measured on a small part of each architecture, and only where it might matter.

    Raises
    ------
    OutputError
        If they would not fit.
    """
    total = ledger.about["designs"]
    left = total - sum(part.rows for part in ledger.parts.values())
    reserve = constants.value("disk_reserve", SETTINGS)
    free = float(shutil.disk_usage(ledger.work).free)
    most = left * constants.value("most_bytes_per_design", SETTINGS)
    most += ledger.about["chunks"] * constants.value("most_bytes_per_part", SETTINGS)
    if left == 0 or most <= free - reserve:
        return
    needed = left * bytes_per_design(study, mission, ledger)
    if needed > free - reserve:
        fits = max(int(total * (free - reserve) / needed), 0) if needed else 0
        raise OutputError(
            f"{left:,} designs would take about {bytes_words(needed)}; {bytes_words(free)} are free and "
            f"{bytes_words(reserve)} of them stay free\n"
            f"free some space, choose an --out on another disk, or ask for at most about {fits:,} designs"
        )


def bytes_per_design(study: Study, mission: Mission, ledger: Ledger) -> float:
    """Mean bytes on disk of a design: of the finished parts, else of a few designs of each architecture."""
    import tempfile
    from pathlib import Path

    from tradespace import sampling
    from tradespace.sweep.chunks import Chunk, answered, write_part

    known = ledger.bytes_per_design()
    if known:
        return known
    count = sampling.designs_per_architecture(study)
    first = count // 2  # the first designs may be alike, and small
    stop = min(first + int(constants.value("trial_designs", SETTINGS)), count)
    taken = 0.0
    with tempfile.TemporaryDirectory() as folder:
        for architecture in study.architectures:
            chunk = Chunk(0, architecture, first, stop)
            taken += write_part(answered(study, mission, chunk), chunk, Path(folder)).bytes
    return taken / (len(study.architectures) * (stop - first))
