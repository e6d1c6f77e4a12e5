"""Files that a study names: read from beside it, and put into its text, so that the text alone says what was asked."""

from __future__ import annotations

from pathlib import Path

from tradespace.study.document import Document, EntryError, read_text, shown

QUOTE = "'''"


def content_of(name: str, folder: Path | None, instead: str, largest: int, what: str) -> str:
    """The text of a file beside the study.

    Parameters
    ----------
    name : str
        As the study writes it.
    folder : Path or None
        Where the study lies; None when it is a text without a place.
    instead : str
        The key that takes the content itself.
    largest : int
        Bytes it may have.
    what : str
        What it is, for messages.

    Raises
    ------
    EntryError
        If there is no such file.
    StudyError
        If it cannot be read as text.
    """
    if folder is None:
        raise EntryError(
            f"{shown(name)} cannot be looked for, because this study is not a file; give {instead} instead"
        )
    path = folder / name
    try:
        if not path.is_file():
            raise EntryError(f"{shown(name)} is not a file in the folder of the study ({folder.absolute()})")
    except ValueError as error:
        raise EntryError(f"{shown(name)} is not a usable file name") from error
    return read_text(path, largest, what).replace("\r\n", "\n").replace("\r", "\n")


def enclosed(
    document: Document, text: str, section: str, instead: str, name: str, content: str, what: str
) -> str:
    """The text of the study with the content of a file in place of ``file = name`` in a section.

    ``text`` is that of the study so far, other files already put in; ``instead`` the key of the content.

    Raises
    ------
    EntryError
        If the content cannot stand in a study, or the key does not stand on a line of its own.
    """
    number = document.lines.get((section, "file"))
    if number is None:
        raise EntryError(f"stands inside braces; write the section [{section}] with one key on each line")
    strange = next((sign for sign in content if sign < " " and sign not in "\n\t"), None)
    if strange is not None:
        line = content[: content.index(strange)].count("\n") + 1
        raise EntryError(
            f"{name}, line {line}: contains the control character {strange!r}; {what} is plain text"
        )
    if QUOTE in content:
        raise EntryError(f"{shown(name)} contains {QUOTE}, which {what} has no use for")
    written = document.text.split("\n")[number - 1]
    before, _, _ = written.partition("=")
    key = before[: before.rindex("file")] + instead + before[before.rindex("file") + len("file") :]
    whole = f"{key}= {QUOTE}\n{content.rstrip()}\n{QUOTE} # read from {name}"
    lines = text.split("\n")
    lines[lines.index(written)] = whole
    return "\n".join(lines)
