"""What a person at a terminal sees: aligned columns, colour only where it is wanted, examples, completion."""

from __future__ import annotations

import contextlib
import json
import os
import re
import shlex
import shutil
import subprocess
import sys
import threading
import time
from pathlib import Path

import click
import pytest
from click.testing import CliRunner
from small_studies import SURFACE

import tradespace
from tradespace.cli import main
from tradespace.cli.printing import NUMBER, aligned, print_pairs, print_table

pty = pytest.importorskip("pty")

ANSI = re.compile(rb"\x1b\[[0-9;]*m")
HOSTILE = "\x1b[31mred\x1b]0;owned\x07<script>alert(1)</script>"
ROOT = str(Path(tradespace.__file__).parents[1])
COMMANDS = sorted(main.commands)


def example_of(command: click.Command) -> str:
    lines = (command.epilog or "").splitlines()
    assert lines[-2:-1] == ["Example:"], command.name
    return lines[-1].strip()


@pytest.mark.parametrize("name", COMMANDS)
def test_the_help_of_every_command_ends_with_an_example_that_parses(name: str) -> None:
    command = main.commands[name]
    line = example_of(command)
    shown = CliRunner().invoke(main, [name, "--help"]).output.rstrip().splitlines()
    assert shown[-1].strip() == line
    program, asked, *rest = shlex.split(line.partition(" > ")[0])
    assert (program, asked) == ("tradespace", name)
    context = command.make_context(name, rest)
    assert [key for key, value in context.params.items() if value not in (None, (), "", False)]
    assert len(line) < 98  # stands on one line of the help


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_can_answer_with_json(name: str) -> None:
    assert any("--json" in parameter.opts for parameter in main.commands[name].params)


def test_examples_that_need_nothing_run() -> None:
    for name in ("chamber", "cell", "completion", "list"):
        words = shlex.split(example_of(main.commands[name]).partition(" > ")[0])
        result = CliRunner().invoke(main, words[1:])
        assert result.exit_code == 0, (name, result.output)


def seen_on_a_terminal(arguments: list[str], **settings: str) -> bytes:
    """What a command writes to a terminal 120 columns wide."""
    leader, follower = pty.openpty()
    parts: list[bytes] = []

    def read() -> None:
        with contextlib.suppress(OSError):  # the other end is closed
            while part := os.read(leader, 65536):
                parts.append(part)

    reader = threading.Thread(target=read)
    reader.start()
    with pytest.MonkeyPatch.context() as patch, os.fdopen(follower, "w", encoding="utf-8") as out:
        for name in ("NO_COLOR", "FORCE_COLOR"):
            patch.delenv(name, raising=False)
        for name, value in {"TERM": "xterm-256color", "COLUMNS": "120", **settings}.items():
            patch.setenv(name, value)
        with contextlib.redirect_stdout(out), pytest.raises(SystemExit) as left:
            main.main(arguments, prog_name="tradespace")
        out.flush()
    reader.join(20)
    os.close(leader)
    assert left.value.code == 0
    return b"".join(parts)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("terminal")
    (place / "small.toml").write_text(SURFACE, encoding="utf-8")
    return place


def test_colour_is_for_terminals_and_only_for_those_who_want_it(folder: Path) -> None:
    drawn = seen_on_a_terminal(["baseline", str(folder / "small.toml")])
    assert b"\x1b[1;36m" in drawn or b"\x1b[1;35m" in drawn  # the verdict
    quick = ["list", "options"]
    assert b"\x1b[1m" in seen_on_a_terminal(quick)
    for settings in ({"NO_COLOR": "1"}, {"TERM": "dumb"}):
        assert b"\x1b" not in seen_on_a_terminal(quick, **settings), settings
    for arguments in (["baseline", str(folder / "small.toml")], quick):
        assert "\x1b" not in CliRunner().invoke(main, arguments).output
    words = re.sub(r"\W+", " ", ANSI.sub(b"", drawn).decode())
    assert not re.search(r"\b(refuellin|propella|archit)\b", words)  # no heading is broken inside a word
    assert "does not close" in words or "closes the smallest margin" in words


def test_json_is_the_same_on_a_terminal_and_in_a_pipe() -> None:
    command = ["list", "options", "--json"]
    shown = seen_on_a_terminal(command)
    piped = CliRunner().invoke(main, command)
    assert json.loads(shown) == json.loads(piped.output)


def test_the_baseline_of_several_architectures_begins_with_all_of_them(folder: Path) -> None:
    lines = CliRunner().invoke(main, ["baseline", str(folder / "small.toml")]).output.splitlines()
    assert lines[0] == "The reference design of each architecture"
    assert lines[1].split()[:3] == ["architecture", "closes", "margin"]
    sheets = json.loads(CliRunner().invoke(main, ["baseline", str(folder / "small.toml"), "--json"]).output)
    found = {line.split()[0]: line for line in lines[2:4]}
    for name, sheet in sheets["architectures"].items():
        assert ("  yes " in found[name]) is sheet["closes"]
        assert sheet["limited_by"] in found[name] or sheet["closes"]


def test_numbers_stand_under_each_other_by_their_points() -> None:
    cells = ["3.25 kg", "110 kg", "-0.5 kg", "none", "1.2e+06 kg", "0 1/yr", "-"]
    lines = aligned(cells)
    assert [line.replace(" ", "") for line in lines] == [cell.replace(" ", "") for cell in cells]
    numbers = [line for line, cell in zip(lines, cells, strict=True) if NUMBER.fullmatch(cell)]
    points = {re.match(r"\s*[-\d]+", line).end() for line in numbers}  # type: ignore[union-attr]
    units = {line.rindex(" ") for line in numbers}
    assert len(points) == len(units) == 1


@pytest.mark.parametrize("cell", ["2031-05-01", "yes", "water at hop 1", "6 (5-7)", "", "36.5.2"])
def test_what_is_no_number_is_left_alone(cell: str) -> None:
    assert aligned([cell, cell]) == [cell, cell]


def test_a_column_of_words_with_a_number_in_it_stays_as_it_is() -> None:
    assert aligned(["Themis", "12", "2031-05-01"]) == ["Themis", "12", "2031-05-01"]


def test_columns_of_a_plain_table_begin_at_one_place(capsys: pytest.CaptureFixture[str]) -> None:
    print_table(
        ("item", "mass", "note"), [("tank", "1234.5 kg", "aa"), ("array", "7 kg", HOSTILE), ("x", "-", "c")]
    )
    print_pairs([("one", "1.25 kW"), ("another", "300 W"), ("none", "none")])
    text = capsys.readouterr().out
    assert "\x1b" not in text
    assert "\x07" not in text
    lines = text.splitlines()
    assert lines[0].index("note") == lines[1].index("aa")
    assert lines[0].index("mass") == lines[3].index("-")
    assert lines[4].index("kW") == lines[5].index("W")


def complete(*words: str, folder: Path | None = None) -> list[str]:
    """What is offered for the last of some words."""
    settings = {
        "_TRADESPACE_COMPLETE": "bash_complete",
        "COMP_WORDS": shlex.join(["tradespace", *words]),
        "COMP_CWORD": str(len(words)),
    }
    before = Path.cwd()
    try:
        os.chdir(folder or before)
        result = CliRunner().invoke(main, [], env=settings, prog_name="tradespace")
    finally:
        os.chdir(before)
    assert result.exit_code == 0, result.output
    return [line.partition(",")[2] for line in result.output.splitlines()]


def test_commands_options_studies_and_bodies_are_completed(tmp_path: Path) -> None:
    assert {"run", "report", "rhyme"} & set(complete("r")) == {"run", "report"}
    assert "--architecture" in complete("baseline", "--arch")
    assert "outer_belt_ice_tour" in complete("run", "outer")
    assert "Themis" in complete("body", "them")
    assert complete("completion", "f") == ["fish"]
    (tmp_path / "runs" / "first").mkdir(parents=True)
    (tmp_path / "runs" / "first" / "ledger.json").write_text("{}", encoding="utf-8")
    assert complete("report", "runs/f", folder=tmp_path) == ["runs/first"]


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_the_script_says_where_it_goes(shell: str) -> None:
    script = CliRunner().invoke(main, ["completion", shell]).output
    told = json.loads(CliRunner().invoke(main, ["completion", shell, "--json"]).output)
    assert told["script"] == script.rstrip("\n")
    assert told["save_as"] in script
    assert f"_TRADESPACE_COMPLETE={shell}_complete" in script
    notes = [line for line in script.splitlines()[:4] if line.startswith("#")]
    assert len(notes) >= 3
    if shutil.which(shell):
        done = subprocess.run(
            [shell, "-n"], input=script, capture_output=True, text=True, check=False, timeout=20
        )
        assert done.returncode == 0, done.stderr


@pytest.mark.skipif(shutil.which("bash") is None, reason="needs bash")
def test_the_script_completes_in_a_real_shell(tmp_path: Path) -> None:
    program = tmp_path / "tradespace"
    program.write_text(
        f'#!/bin/sh\nexec {shlex.quote(sys.executable)} -m tradespace "$@"\n', encoding="utf-8"
    )
    program.chmod(0o755)
    script = CliRunner().invoke(main, ["completion", "bash"]).output
    asked = (
        f"{script}\nCOMP_WORDS=(tradespace che); COMP_CWORD=1\n_tradespace_completion tradespace\n"
        'printf "%s\\n" "${COMPREPLY[@]}"\n'
    )
    path = f"{tmp_path}{os.pathsep}{os.environ['PATH']}"
    done = subprocess.run(
        ["bash", "-c", asked], capture_output=True, text=True, check=False, timeout=60, cwd=tmp_path,
        env={**os.environ, "PATH": path, "PYTHONPATH": ROOT},
    )  # fmt: skip
    assert done.stdout.split() == ["check"], done.stderr


def test_help_and_completion_come_at_once() -> None:
    begun = time.perf_counter()
    for words in (["--help"], ["run", "--help"]):
        assert CliRunner().invoke(main, words).exit_code == 0
    assert time.perf_counter() - begun < 5.0
