"""The page served to this machine alone: loopback address, known Host, no foreign origin, nothing from elsewhere."""

from __future__ import annotations

import logging
import socket
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flask import Response, abort, request

from tradespace.errors import OutputError
from tradespace.tables import DATA

if TYPE_CHECKING:
    from dash import Dash
    from flask import Flask

ADDRESS = "127.0.0.1"
NAMES = (ADDRESS, "localhost")
"""What a browser on this machine may call it."""
PORT = 8620
"""Where the page stands when that port is free and no other is asked for; our own choice."""
LARGEST = 250_000
"""Bytes of a request beyond which it is refused."""
FILES = {"dashboard.css": "text/css", "dashboard.js": "text/javascript"}
FORBIDDEN = 403


def open_socket(port: int | None) -> socket.socket:
    """A socket on the loopback address: on a port, or where none is asked for on the usual or any free one.

    Raises
    ------
    OutputError
        If the port asked for is taken or not allowed.
    """
    for tried in (port,) if port is not None else (PORT, 0):
        found = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            found.bind((ADDRESS, tried))
        except OSError as error:
            found.close()
            if port is not None:
                raise OutputError(
                    f"port {port} cannot be used ({error.strerror}); choose another, or --port 0 for any free one"
                ) from error
        else:
            found.listen()
            return found
    raise OutputError("no port is free on this machine; close a program that listens on one")


def guard(server: Flask, port: int, hashes: list[str]) -> None:
    """Refuse requests that name another host or come from another page, and forbid the page to fetch from elsewhere.

    Parameters
    ----------
    server : Flask
        The server of the page.
    port : int
        The port on which it stands.
    hashes : list of str
        Digests of the inline scripts that the page may run.
    """
    hosts = {f"{name}:{port}" for name in NAMES}
    origins = {f"http://{host}" for host in hosts}
    policy = (
        f"default-src 'none'; script-src 'self' {' '.join(hashes)}; style-src 'self' 'unsafe-inline'; "
        "img-src 'self' data: blob:; font-src 'self' data:; connect-src 'self'; base-uri 'none'; "
        "form-action 'none'; frame-ancestors 'none'"
    )
    server.config["MAX_CONTENT_LENGTH"] = LARGEST

    def check() -> None:
        if request.headers.get("Host", "") not in hosts or request.headers.get(
            "Origin", ""
        ) not in origins | {""}:
            abort(FORBIDDEN)
        if request.headers.get("Sec-Fetch-Site", "none") not in {"same-origin", "none"}:
            abort(FORBIDDEN)

    def harden(answer: Response) -> Response:
        answer.headers["Content-Security-Policy"] = policy
        answer.headers["X-Content-Type-Options"] = "nosniff"
        answer.headers["X-Frame-Options"] = "DENY"
        answer.headers["Referrer-Policy"] = "no-referrer"
        answer.headers["Cross-Origin-Resource-Policy"] = "same-origin"
        return answer

    server.before_request_funcs.setdefault(None, []).insert(0, check)
    server.after_request(harden)


def own_files(server: Flask) -> None:
    """Serve the style and the script of the page."""

    def file(name: str) -> Response:
        if name not in FILES:
            abort(404)
        return Response((DATA / name).read_text(encoding="utf-8"), mimetype=FILES[name])

    server.add_url_rule("/page/<name>", "page_file", file)


def serve(app: Dash, listening: socket.socket) -> None:
    """Answer requests until Ctrl-C."""
    from werkzeug.serving import make_server

    logging.getLogger("werkzeug").setLevel(logging.ERROR)
    port = int(listening.getsockname()[1])
    made: Any = make_server(ADDRESS, port, app.server, threaded=True, fd=listening.fileno())
    try:
        made.serve_forever()
    except KeyboardInterrupt:
        pass
    finally:
        made.server_close()
        listening.close()


def folder_for(saved_in: Path) -> Path:
    """A folder that pinned designs can be saved in.

    Raises
    ------
    OutputError
        If there is no such folder.
    """
    if not saved_in.is_dir():
        raise OutputError(f"{saved_in} is not a folder; make it first, or choose another with --save-in")
    return saved_in
