"""Completion of commands, options, studies, runs and bodies in the shell, and the command that gives its script."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click
from click.shell_completion import CompletionItem, ShellComplete, get_completion_class

from tradespace.cli.asking import example, json_option
from tradespace.cli.printing import print_json
from tradespace.errors import printable

if TYPE_CHECKING:
    from click import Context, Parameter

MOST = 60
"""Bodies offered at once."""
RESULT = "ledger.json"
PROGRAM, VARIABLE = "tradespace", "_TRADESPACE_COMPLETE"
BASH = "~/.local/share/bash-completion/completions/tradespace"
PLACES = {
    "bash": (
        BASH,
        f"read by itself where the package bash-completion is installed, else by this line in ~/.bashrc: source {BASH}",
    ),
    "zsh": (
        "~/.zfunc/_tradespace",
        "read where ~/.zshrc holds, in this order: fpath+=~/.zfunc; autoload -Uz compinit; compinit",
    ),
    "fish": ("~/.config/fish/completions/tradespace.fish", "read by itself"),
}
"""Where each shell looks for the script, and what makes it look there."""


def complete_run(context: Context, parameter: Parameter, incomplete: str) -> list[CompletionItem]:
    """Folders of finished runs here and below ``runs``, and any other folder."""
    del context, parameter
    found = sorted(
        str(path.parent) for pattern in (f"*/{RESULT}", f"runs/*/{RESULT}") for path in Path().glob(pattern)
    )
    items = [CompletionItem(name, help="finished run") for name in found if name.startswith(incomplete)]
    return items or [CompletionItem(incomplete, type="dir")]


def complete_body(context: Context, parameter: Parameter, incomplete: str) -> list[CompletionItem]:
    """Bodies of the catalogue whose name begins so."""
    del context, parameter
    from tradespace.bodies import bodies

    begun = incomplete.casefold()
    names = [item.name for item in bodies() if item.name.casefold().startswith(begun)]
    return [CompletionItem(name) for name in sorted(set(names))[:MOST]]


def script_of(shell: str) -> str:
    """The script for a shell, with a line on where it goes.

    Raises
    ------
    KeyError
        If there is none for that shell.
    """
    found = get_completion_class(shell)
    if found is None:
        raise KeyError(shell)
    where, when = PLACES[shell]
    # the shell's own version is not asked for here: the script may be made on another machine
    body = ShellComplete.source(found(click.Group(PROGRAM), {}, PROGRAM, VARIABLE)).strip()
    lines = (
        [f"#compdef {PROGRAM}"] if shell == "zsh" else []
    )  # zsh reads the first line alone to learn what the file is for
    lines += [
        f"# Completion of {PROGRAM} in {shell}. Save as: {where}",
        f"# by: {PROGRAM} completion {shell} > {where}",
        f"# {when}",
    ]
    body = body.removeprefix(f"#compdef {PROGRAM}").strip()
    return "\n".join([*lines, body])


@click.command(
    epilog=example("tradespace completion bash > ~/.local/share/bash-completion/completions/tradespace")
)
@click.argument("shell", type=click.Choice(sorted(PLACES)))
@json_option
def completion(shell: str, as_json: bool) -> None:
    """Print the script that completes commands, options, studies, runs and bodies in a shell.

    Its first lines say where the script goes.
    """
    script = script_of(shell)
    if as_json:
        where, when = PLACES[shell]
        print_json({"shell": shell, "save_as": where, "read": when, "script": script})
        return
    click.echo(printable(script) if "\x1b" in script else script)
