"""What a run has to tell besides its pictures: tables with numbers, the models behind them, and their sources."""

from tradespace.findings.models import Account, Model, account_of
from tradespace.findings.sources import Source, sources_used
from tradespace.findings.tables import Column, ResultTable, result_tables

__all__ = [
    "Account",
    "Column",
    "Model",
    "ResultTable",
    "Source",
    "account_of",
    "result_tables",
    "sources_used",
]
