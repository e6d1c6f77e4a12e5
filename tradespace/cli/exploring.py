"""The live page: the command dashboard."""

from __future__ import annotations

from pathlib import Path

import click

from tradespace.cli.asking import complete_study, example, json_option, load
from tradespace.cli.printing import print_json
from tradespace.errors import printable


@click.command(epilog=example("tradespace dashboard ceres_surface_hopper --port 0 --no-browser"))
@click.argument("study", shell_complete=complete_study)
@click.option(
    "--port", type=click.IntRange(0, 65535), metavar="N", help="Port on 127.0.0.1; 0 takes any free one."
)
@click.option("--no-browser", is_flag=True, help="Only print the address.")
@click.option(
    "--save-in",
    "saved_in",
    default=".",
    metavar="DIR",
    help="Folder for pinned designs; default: where you are.",
)
@json_option
def dashboard(study: str, port: int | None, no_browser: bool, saved_in: str, as_json: bool) -> None:
    """Move the variables of STUDY on a local page and see the answer change.

    The page is served to this machine alone, works offline and ends with Ctrl-C. Designs can be pinned, set side by
    side and saved as study files that run takes.
    """
    asked = load(study)
    from tradespace import dashboard as room

    room.require_dash()
    from tradespace.dashboard.serving import ADDRESS, folder_for, open_socket, serve

    folder = folder_for(Path(saved_in))
    listening = open_socket(port)
    number = int(listening.getsockname()[1])
    click.echo(
        printable(f"{asked.title}: getting ready; the first time this takes a few minutes ..."), err=True
    )
    app = room.make_app(room.explorer_of(asked), number, folder)
    address = f"http://{ADDRESS}:{number}/"
    if as_json:
        print_json({"study": asked.name, "address": address, "saved_in": str(folder.resolve())})
    else:
        click.echo(
            f"{address} (Ctrl-C ends it; pinned designs are saved in {printable(str(folder.resolve()))})"
        )
    if not no_browser:
        import webbrowser

        webbrowser.open(address)
    serve(app, listening)
    if not as_json:
        click.echo("stopped")
