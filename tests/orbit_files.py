"""Files of orbits for the tests, invented apart from their layout: no such bodies exist in these places."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

HEADER = (
    "MINOR PLANET CENTER ORBIT DATABASE (MPCORB)\n\nDes'n     H     G   Epoch     M\n\n" + "-" * 160 + "\n"
)
FIELDS = [
    "full_name",
    "a",
    "e",
    "i",
    "om",
    "w",
    "ma",
    "epoch",
    "H",
    "diameter",
    "albedo",
    "rot_per",
    "spec_B",
    "GM",
]
ROW: list[Any] = [
    "   2867 Steins (1969 VC)", "2.36", "0.146", "9.93", "55.3", "251.1", "10.5", "2461000.5", "13.2", "5.16", "0.4",
    "6.049", "E", None,
]  # fmt: skip


def line(packed: str = "02867", **given: Any) -> str:
    """One line of an orbit catalogue."""
    at = {
        "h": " 13.20", "g": " 0.15", "epoch": "K25BL", "m": 10.5, "w": 251.1, "node": 55.3, "i": 9.93, "e": 0.146,
        "a": 2.36, "u": "0", "name": "(2867) Steins", **given,
    }  # fmt: skip
    e = at["e"] if isinstance(at["e"], str) else f"{at['e']:9.7f}"
    a = at["a"] if isinstance(at["a"], str) else f"{at['a']:11.7f}"
    text = (
        f"{packed:<7s} {at['h']:>5.5s} {at['g']:>5s} {at['epoch']} {at['m']:9.5f}  {at['w']:9.5f}  {at['node']:9.5f}  "
        f"{at['i']:9.5f}  {e} {0.27:11.8f} {a}  {at['u']} E2025-V47  1000  20 1990-2025 0.60 M-v 3Ek MPCLINUX   0000 "
    )
    return f"{text:<166s}{at['name']:<28s}20251018"


def catalogue(
    folder: Path, *lines: str, header: str = HEADER, end: str = "\n", name: str = "MPCORB.DAT"
) -> Path:
    """A file of an orbit catalogue."""
    path = folder / name
    path.write_bytes((header.replace("\n", end) + "".join(item + end for item in lines)).encode())
    return path


def query(folder: Path, *rows: list[Any], fields: list[str] | None = None, name: str = "query.json") -> Path:
    """A result of the query service, as JSON or CSV by the ending of the name."""
    path, fields = folder / name, FIELDS if fields is None else fields
    if name.endswith(".json"):
        reply = {"signature": {"version": "1.0"}, "fields": fields, "data": list(rows), "count": len(rows)}
        path.write_text(json.dumps(reply), encoding="utf-8")
    else:
        table = [fields, *[["" if cell is None else str(cell) for cell in row] for row in rows]]
        path.write_text("\n".join(",".join(row) for row in table) + "\n", encoding="utf-8")
    return path


def looked_up() -> dict[str, Any]:
    """A reply of the look-up service, made by hand after its public description."""
    names = ("e", "a", "q", "i", "om", "w", "ma", "tp")
    values = ("0.146", "2.36", "2.02", "9.93", "55.3", "251.1", "10.5", "2460961.3")
    return {
        "signature": {"source": "NASA/JPL Small-Body Database (SBDB) API", "version": "1.3"},
        "object": {"fullname": "2867 Steins (1969 VC)", "des": "2867", "kind": "an", "neo": False},
        "orbit": {
            "epoch": "2461000.5", "condition_code": "0",
            "elements": [
                {"name": name, "value": value, "sigma": "1E-8", "units": None, "title": "", "label": name}
                for name, value in zip(names, values, strict=True)
            ],
        },
        "phys_par": [
            {"name": "H", "value": "13.2", "sigma": None, "units": "mag"},
            {"name": "diameter", "value": "5.16", "sigma": "0.25", "units": "km"},
            {"name": "rot_per", "value": "6.049", "sigma": None, "units": "h"},
            {"name": "spec_T", "value": "E", "sigma": None, "units": None},
        ],
    }  # fmt: skip
