"""The command line: every command prints for people, or one JSON object with ``--json``."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from typing import Any

import click

from tradespace.cli import (
    asking,
    benching,
    cataloguing,
    comparing,
    completing,
    doubting,
    driving,
    exploring,
    fronting,
    importing,
    improving,
    links,
    listing,
    publishing,
    querying,
    running,
    sheet,
    stacking,
    touring,
    validating,
    windowing,
)
from tradespace.errors import TradespaceError, printable

STOPPED = 130
MISTAKE = 2
MOST_LINES = 2


class Commands(click.Group):
    """A group whose errors are one or two lines on stderr, never a traceback."""

    def main(
        self,
        args: Sequence[str] | None = None,
        prog_name: str | None = None,
        complete_var: str | None = None,
        standalone_mode: bool = True,
        **extra: Any,
    ) -> Any:
        """Run and exit with 0 (done), 2 (something to mend) or 130 (stopped)."""
        del standalone_mode
        code = self._run(args, prog_name or "tradespace", complete_var, extra)
        sys.exit(code)

    def _run(
        self, args: Sequence[str] | None, name: str, complete_var: str | None, extra: dict[str, Any]
    ) -> int:
        code: Any = 0
        try:
            code = super().main(args, name, complete_var, standalone_mode=False, **extra)
            sys.stdout.flush()
        except BrokenPipeError:
            _quiet()
            code = 1
        except click.exceptions.Exit as error:
            code = error.exit_code
        except (click.Abort, KeyboardInterrupt):
            click.echo("stopped; nothing was kept", err=True)
            code = STOPPED
        except (click.ClickException, TradespaceError, MemoryError, OSError) as error:
            code = _complain(_what(error, name))
        return code if isinstance(code, int) else 0


def _what(error: Exception, name: str) -> str:
    """What went wrong, in words."""
    if isinstance(error, click.UsageError):
        command = error.ctx.command_path if error.ctx is not None else name
        return f"{error.format_message().rstrip('.')}; see: {command} --help"
    if isinstance(error, click.ClickException):
        return error.format_message()
    if isinstance(error, TradespaceError):
        return str(error)
    if isinstance(error, MemoryError):
        return "not enough memory; lower a count of the sweep, or sweep fewer architectures at once"
    if isinstance(error, OSError):
        return f"{error.filename or 'file'}: {error.strerror or error}"
    return str(error)


def _complain(message: str) -> int:
    """Print at most two lines on stderr."""
    lines = [printable(line) for line in message.splitlines() if line.strip()] or ["something went wrong"]
    kept = lines[:MOST_LINES]
    click.echo("\n".join(["tradespace: " + kept[0], *kept[1:]]), err=True)
    return MISTAKE


def _quiet() -> None:
    """Let nothing more be written to a pipe that nobody reads."""
    sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115, PTH123  (lives until the process ends)


def _show_version(context: click.Context, _parameter: click.Parameter, wanted: bool) -> None:
    if wanted:
        import tradespace

        click.echo(f"tradespace {tradespace.__version__}")
        context.exit()


@click.group(cls=Commands, invoke_without_command=True, context_settings={"max_content_width": 100})
@click.option(
    "--version", is_flag=True, is_eager=True, expose_value=False, callback=_show_version,
    help="Print the version and stop.",
)  # fmt: skip
@click.pass_context
def main(context: click.Context) -> None:
    """Does a water-fed thruster close this mission? Answers with evidence.

    Start with: tradespace new my_study, then tradespace run my_study.toml
    """
    if context.invoked_subcommand is None:
        click.echo(context.get_help())


for _command in (
    asking.new, asking.check, listing.list_, running.run, querying.query, running.report, publishing.paper,
    comparing.compare, sheet.baseline, driving.sensitivity, fronting.pareto, stacking.stackup, improving.breakeven,
    doubting.uncertainty, benching.bench,
    exploring.dashboard,
    touring.tour, links.transfer, windowing.windows, links.chamber, links.cell, validating.validate,
    cataloguing.body_, importing.import_, importing.forget,
    completing.completion,
):  # fmt: skip
    main.add_command(_command)
