"""The live page: sliders move a design of a study, and the answer follows (optional extra ``dashboard``)."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from tradespace.errors import OutputError

if TYPE_CHECKING:
    from tradespace.dashboard.explorer import Explorer
    from tradespace.study import Study

__all__ = ["INSTALL", "explorer_of", "make_app", "require_dash"]

INSTALL = "pip install 'tradespace[dashboard]'"


def require_dash() -> None:
    """Say how to install what the page needs when it is not there.

    Raises
    ------
    OutputError
        If Dash is not installed.
    """
    try:
        import dash  # noqa: F401
    except ImportError as error:
        raise OutputError(
            f"the dashboard needs Dash, which is not installed; install it with: {INSTALL}"
        ) from error


def explorer_of(study: Study) -> Explorer:
    """Who answers for a study: its windows looked up, its engine compiled, its first picture worked out.

    Parameters
    ----------
    study : Study
        The question.
    """
    from tradespace.dashboard.explorer import Explorer

    explorer = Explorer(study)
    first = explorer.first
    if explorer.axes is not None:
        explorer.field(first, explorer.axes)
    explorer.needs(first)
    return explorer


def make_app(explorer: Explorer, port: int, folder: Path) -> Any:
    """The page of a study, ready to be served to this machine.

    Parameters
    ----------
    explorer : Explorer
        Who answers.
    port : int
        The port on which it will stand: requests that name another one are refused.
    folder : Path
        Where pinned designs are saved.

    Returns
    -------
    dash.Dash
    """
    from dash import Dash

    from tradespace.dashboard.answering import connect
    from tradespace.dashboard.page import index, page, title_of
    from tradespace.dashboard.serving import guard, own_files

    app = Dash(
        "tradespace_dashboard", include_assets_files=False, serve_locally=True, update_title="",
        title=title_of(explorer), index_string=index(explorer), add_log_handler=False, enable_mcp=False,
    )  # fmt: skip
    app.layout = page(explorer)
    connect(app, explorer, folder)
    own_files(app.server)
    guard(app.server, port, list(app.csp_hashes()))
    return app
