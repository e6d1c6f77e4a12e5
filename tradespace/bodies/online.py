"""Looking up one body in JPL's small-body database over the network."""

from __future__ import annotations

import json
from typing import Any

from tradespace.bodies import query_file
from tradespace.bodies.found import Found, Keep, Lines
from tradespace.bodies.importing import Imported, checked_span, store
from tradespace.errors import OutputError

TIME_OUT = 20
"""Seconds."""
OFFERED = 5


def import_online(
    names: list[str], *, replace: bool = False, valid_for: float | None = None, time_out: int = TIME_OUT
) -> Imported:
    """Look up bodies by name, number or designation and put them into the user's own catalogue.

    Parameters
    ----------
    names : list of str
        For example ``["Themis", "2000 SG344"]``.
    replace : bool
        Whether they take the place of shipped ones.
    valid_for : float, optional
        How long before and after its epoch an ellipse is relied on [s].
    time_out : int
        How long to wait for an answer [s].

    Raises
    ------
    OutputError
        If there is no network or no such body; nothing is written then.
    """
    span, lines = checked_span(valid_for), Lines()
    found: dict[str, Found] = {}
    for name in names:
        reply = _reply(name, time_out)
        _check(name, reply)
        part = query_file.read(query_file.json_rows(reply), Keep(), lines, "body")
        if not part:
            raise OutputError(f"{name!r}: {lines.first_bad or 'has no closed orbit'}; nothing was written")
        found.update(part)
    return store(found, lines, source="JPL small-body database", form="sbdb-json", replace=replace, span=span)


def _reply(name: str, time_out: int) -> str:
    """The text of the database's answer."""
    try:
        from astroquery.exceptions import RemoteServiceError
        from astroquery.exceptions import TimeoutError as TimedOut
        from astroquery.jplsbdb import SBDBClass, conf
    except ImportError as error:
        raise OutputError(
            "looking up a body needs the package astroquery; install it, or import a file instead"
        ) from error
    try:
        with conf.set_temp("timeout", time_out):
            return str(
                SBDBClass().query(name, phys=True, full_precision=True, get_raw_response=True, cache=False)
            )
    except (OSError, TimedOut, RemoteServiceError) as error:
        raise OutputError(
            f"looking up {name!r} needs the network, and JPL's database did not answer; import a file of it "
            "(tradespace import FILE) or take a shipped body (tradespace list bodies)"
        ) from error


def _check(name: str, reply: str) -> None:
    """Refuse an answer that is no body."""
    try:
        answer: Any = json.loads(reply)
    except ValueError as error:
        raise OutputError(
            f"{name!r}: the answer of JPL's database cannot be read; try again later"
        ) from error
    if isinstance(answer, dict) and "orbit" in answer:
        return
    several = answer.get("list") if isinstance(answer, dict) else None
    if isinstance(several, list) and several:
        offered = [
            str(item.get("name") or item.get("pdes")).strip() for item in several if isinstance(item, dict)
        ]
        raise OutputError(
            f"{name!r} is the name of {len(several)} bodies, such as {', '.join(offered[:OFFERED])}; give a number"
        )
    said = answer.get("message") if isinstance(answer, dict) else None
    raise OutputError(
        f"JPL's database does not know {name!r}{f' ({said})' if said else ''}; nothing was written"
    )
