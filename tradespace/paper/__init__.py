"""The paper bundle: figures at their printed size, tables, methods and bibliography of a finished run."""

from tradespace.paper.bundle import MANIFEST, Bundle, fill, write_paper

__all__ = ["MANIFEST", "Bundle", "fill", "write_paper"]
