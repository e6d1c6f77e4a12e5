"""The sources of a run as BibTeX."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from tradespace.paper.latex import escaped

if TYPE_CHECKING:
    from tradespace.findings import Source

WITHOUT_ENTRY = ("closed form", "computation", "note", "none", "kind")
"""Kinds of source that are no publication."""
KINDS = {
    "article": "article", "paper": "article", "review": "article", "report": "techreport",
    "technical note": "techreport",
    "book": "book", "handbook": "book", "thesis": "phdthesis", "chapter": "incollection",
}  # fmt: skip
"""Entry type by kind of source; every other kind is ``misc``."""
MEETINGS = ("IEPC", "IAC", "SSC", "Conference", "Symposium", "Congress", "Workshop", "abstract")
"""Words in the place of a paper that say it was given at a meeting."""
MEETING_PAPER = re.compile(r"^(AIAA|SAE) \d")
PLACES = (
    re.compile(
        r"^(?P<journal>[^0-9]+?),? (?P<volume>\d+)(?: ?\((?P<number>[\w-]+)\))?(?::|, | )(?P<pages>[A-Za-z]*\d[\w-]*)$"
    ),
    re.compile(r"^(?P<journal>[^0-9]+?),? (?P<volume>\d+)(?: ?\((?P<number>[\w-]+)\))?$"),
)
INITIALS = re.compile(r"^(?:[A-Z][\w'-]*\.[ -]?)+")
ORGANISATIONS = re.compile(
    r"\b(NASA|ESA|AIAA|BIPM|JPL|JAXA|University|Institute|Center|Centre|Agency|Laboratory|Committee|Group|Program|Company|"
    r"Corporation|Ltd|Inc|GmbH|Bureau|Department|Association|Systems|database)\b"
)
LATER = ("et al.", "and others", "and other")


def entries(sources: Iterable[Source]) -> list[Source]:
    """The sources that have an entry."""
    return [one for one in sources if one.kind not in WITHOUT_ENTRY]


def bibliography(sources: Iterable[Source]) -> str:
    """The file of the sources that have an entry; those not read at the source say so above their entry.

    Parameters
    ----------
    sources : iterable of Source
        In the order of the file.
    """
    found = []
    for one in entries(sources):
        lines = [f"% {escaped(one.note)}"] if one.unchecked else []
        kind, fields = entry(one)
        lines.append(f"@{kind}{{{one.key},")
        lines += [f"  {name} = {{{value}}}," for name, value in fields.items() if value]
        found.append("\n".join([*lines, "}"]))
    return "\n\n".join(found) + "\n"


def entry(one: Source) -> tuple[str, dict[str, str]]:
    """Entry type and fields."""
    names = " and ".join(authors(one.authors))
    kind = KINDS.get(one.kind, "misc") if names else "misc"
    fields = {"author": names, "title": f"{{{escaped(one.title)}}}", "year": escaped(one.year)}
    if kind == "article":
        place = next((found for form in PLACES if (found := form.match(one.where))), None)
        if place is None or any(words in one.where for words in MEETINGS) or MEETING_PAPER.match(one.where):
            kind = "misc"
            fields["howpublished"] = escaped(one.where)
        else:
            fields |= {name: escaped(value).replace("-", "--") if name == "pages" else escaped(value)
                       for name, value in place.groupdict().items() if value}  # fmt: skip
    elif kind == "techreport":
        whole = re.fullmatch(r"\{(.*)\}", names)
        fields |= {"institution": whole.group(1) if whole else maker(one.where), "number": escaped(one.where)}
    elif kind == "book":
        fields["publisher"] = escaped(one.where)
    elif kind == "phdthesis":
        fields["school"] = escaped(one.where)
    elif kind == "incollection":
        fields |= {"booktitle": escaped(one.where), "publisher": "publisher not noted"}
    else:
        fields["howpublished"] = escaped("; ".join(part for part in (one.kind, one.where) if part))
    if not fields["year"]:
        fields["year"] = "n.d."
    if not names:
        fields["key"] = escaped(one.title)
    fields["annote"] = escaped(one.note)
    return kind, fields


def maker(where: str) -> str:
    """Who published a report, as far as its place tells."""
    parts = [part.strip() for part in where.split(",")]
    named = next((part for part in parts if ORGANISATIONS.search(part)), parts[0])
    short = re.match(r"(NASA|ESA|AIAA|BIPM|JPL|JAXA)\b", named)
    return escaped(short.group() if short else named)


def authors(cell: str) -> list[str]:
    """Names as BibTeX wants them: family name first, organisations in braces of their own.

    Parameters
    ----------
    cell : str
        ``Curtis, H. D.; Vallado, D. A.`` or ``H. D. Curtis, D. A. Vallado`` or an organisation.

    Examples
    --------
    >>> authors("Becker, T. M. et al.")
    ['Becker, T. M.', 'others']
    >>> authors("E. Tiesinga, P. J. Mohr")
    ['Tiesinga, E.', 'Mohr, P. J.']
    >>> authors("NASA Ames Research Center")
    ['{NASA Ames Research Center}']
    """
    text, rest = cell.strip(), []
    for words in LATER:
        if words in text:
            text, rest = text.split(words)[0].strip(" ,;"), ["others"]
            break
    return [*_names(text), *rest] if text or rest else []


def _names(text: str) -> Iterator[str]:
    if not text:
        return
    if ORGANISATIONS.search(text):
        yield f"{{{escaped(text)}}}"
        return
    if re.fullmatch(r"[^,;]+, (?:[A-Z][\w'-]*\.[ -]?)+(?:\(eds?\.\))?", text):
        parts = [text]
    elif ";" in text:
        parts = [part.strip() for part in text.split(";")]
    elif INITIALS.match(text) or re.search(r", (?:[A-Z]\. ?)+[A-Z][\w'-]+", text):
        parts = [part.strip() for part in re.split(r", | and ", text)]
    else:
        parts = [part.strip() for part in text.split(", ")]
    for part in parts:
        yield _name(part)


def _name(part: str) -> str:
    """One person, family name first."""
    initials = INITIALS.match(part)
    if "," not in part and initials:
        family = part[initials.end() :].strip()
        return escaped(f"{family}, {initials.group().strip()}") if family else escaped(part)
    return escaped(part) if "," in part or " " not in part else f"{{{escaped(part)}}}"
