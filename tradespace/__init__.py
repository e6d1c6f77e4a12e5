"""Does a water-fed thruster close this mission? A trade engine that answers with evidence."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tradespace.report import write_report
    from tradespace.study import load_study, parse_study
    from tradespace.sweep import run

__all__ = ["__version__", "load_study", "parse_study", "run", "write_report"]

_HOMES = {
    "load_study": "tradespace.study",
    "parse_study": "tradespace.study",
    "run": "tradespace.sweep",
    "write_report": "tradespace.report",
}


def __getattr__(name: str) -> Any:
    """Import the public names only when they are used, so that the command line starts at once."""
    if name == "__version__":
        from importlib.metadata import PackageNotFoundError, version

        try:
            return version("tradespace")
        except PackageNotFoundError:
            return "not installed"
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'tradespace' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
