"""Text as LaTeX: nothing in it is obeyed, and the result is plain ASCII that needs no package for its signs."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Collection

SPECIAL = {
    "\\": r"\textbackslash{}", "{": r"\{", "}": r"\}", "$": r"\(\$\)", "&": r"\&", "#": r"\#", "%": r"\%", "_": r"\_",
    "~": r"\textasciitilde{}", "^": r"\textasciicircum{}", "<": r"\textless{}", ">": r"\textgreater{}",
    "|": r"\textbar{}", '"': "''", "`": r"\(\grave{}\)",
    "[": "{[}", "]": "{]}", "*": "{*}",
}  # fmt: skip
"""Characters that LaTeX would obey, take for an option of the line before, or draw as others."""
SIGNS = {
    "\u2060": "{}",
    "\u00a0": "~", "\u2009": r"\,", "\u202f": r"\,", "\u2013": "--", "\u2014": "---", "\u2018": "`", "\u2019": "'",
    "\u201c": "``", "\u201d": "''", "\u2026": r"\dots{}", "\u00df": r"\ss{}", "\u00f8": r"\o{}",
    "\u00d8": r"\O{}", "\u00e6": r"\ae{}", "\u00c6": r"\AE{}", "\u0142": r"\l{}", "\u0141": r"\L{}", "\u0131": r"\i{}",
    "\u00e5": r"\aa{}", "\u00c5": r"\AA{}",
}  # fmt: skip
MATHS = {
    "\u2020": r"\dagger", "\u2021": r"\ddagger", "\u00ab": r"\ll", "\u00bb": r"\gg",
    "\u2212": "-", "\u00d7": r"\times", "\u00b7": r"\cdot", "\u2264": r"\le", "\u2265": r"\ge", "\u2248": r"\approx",
    "\u00b1": r"\pm", "\u221e": r"\infty", "\u2192": r"\rightarrow", "\u25b6": r"\triangleright", "\u00b0": r"^{\circ}",
    "\u00b5": r"\mu", "\u2211": r"\sum", "\u221a": r"\surd", "\u2202": r"\partial", "\u2260": r"\ne",
    "\u2190": r"\leftarrow",
}  # fmt: skip
GREEK = (
    "alpha beta gamma delta epsilon zeta eta theta iota kappa lambda mu nu xi omicron pi rho varsigma sigma tau "
    "upsilon phi chi psi omega"
).split()
CAPITALS = {"Gamma", "Delta", "Theta", "Lambda", "Xi", "Pi", "Sigma", "Upsilon", "Phi", "Psi", "Omega"}
ACCENTS = {
    "\u0300": "`", "\u0301": "'", "\u0302": "^", "\u0303": "~", "\u0304": "=", "\u0306": "u", "\u0307": ".",
    "\u0308": '"', "\u030a": "r", "\u030b": "H", "\u030c": "v", "\u0327": "c",
}  # fmt: skip
RAISED = str.maketrans("⁻⁺⁰¹²³⁴⁵⁶⁷⁸⁹", "-+0123456789")
LOWERED = str.maketrans("₀₁₂₃₄₅₆₇₈₉", "0123456789")
PARTED = "\u2060"
"""Stands between two signs that are to stay two; it has no width of its own."""
JOINED = {pair: pair[0] + PARTED + pair[1] for pair in ("--", "''", ",,")}
"""Pairs that a font would draw as one sign."""
PIECE = re.compile(r"[⁻⁺⁰¹²³⁴⁵⁶⁷⁸⁹]+|[₀₁₂₃₄₅₆₇₈₉]+|.", re.DOTALL)
INLINE = re.compile(
    r":math:`(?P<math>[^`]*)`|:[a-z]+:`(?P<role>[^`]*)`|``(?P<code>[^`]*)``|`(?P<word>[^`]*)`"
)
KEY = re.compile(r"[A-Za-z0-9_]+")


def escaped(text: object) -> str:
    r"""Text that LaTeX shows as it is; signs the fonts lack are told by their number.

    Parameters
    ----------
    text : object
        Anything; control characters become spaces.

    Examples
    --------
    >>> print(escaped("50 % of $x_1$ & more"))
    50 \% of \(\$\)x\_1\(\$\) \& more
    >>> print(escaped("\\input{/etc/passwd}"))
    \textbackslash{}input\{/etc/passwd\}
    >>> print(escaped("A/cm² × 10⁻³, Žilina"))
    A/cm\(^{2}\) \(\times\) 10\(^{-3}\), \v{Z}ilina
    """
    plain = str(text).replace(PARTED, "")
    for pair, parted in JOINED.items():
        while pair in plain:
            plain = plain.replace(pair, parted)
    return "".join(_piece(found.group()) for found in PIECE.finditer(plain))


def _piece(piece: str) -> str:
    known = SPECIAL.get(piece) or SIGNS.get(piece)
    if known is not None:
        return known
    if piece.isascii():
        return piece if piece.isprintable() else " "
    if piece in MATHS:
        return rf"\({MATHS[piece]}\)"
    for side, table in (("^", RAISED), ("_", LOWERED)):
        if piece.translate(table).isascii():
            return rf"\({side}{{{piece.translate(table)}}}\)"
    return _letter(piece)


def _letter(piece: str) -> str:
    """A Greek letter, a letter with an accent, or the number of a sign that is neither."""
    words = unicodedata.name(piece, "").split()
    if words[:1] == ["GREEK"] and len(words) == 4 and words[2] == "LETTER" and words[3] != "OMICRON":
        name = {"LAMDA": "lambda"}.get(words[3], words[3].lower())
        name = "varsigma" if name == "final" else name
        if words[1] == "CAPITAL" and name.capitalize() in CAPITALS:
            return rf"\(\{name.capitalize()}\)"
        if words[1] == "SMALL" and name in GREEK:
            return rf"\(\{name}\)"
    parts = unicodedata.normalize("NFD", piece)
    if len(parts) == 2 and parts[0].isascii() and parts[1] in ACCENTS:
        base = rf"\{parts[0]}" if parts[0] in "ij" else parts[0]
        return rf"\{ACCENTS[parts[1]]}{{{base}}}"
    if len(parts) == 2 and parts[0].isalpha() and parts[0].isascii():
        return parts[0]  # the usual fonts lack its accent
    plain = unicodedata.normalize("NFKD", piece)
    if plain.isascii() and plain.isprintable():
        return "".join(SPECIAL.get(letter, letter) for letter in plain)
    return f"[U+{ord(piece):04X}]" if piece.isprintable() else " "


def cited(text: str, keys: Collection[str], words: Callable[[str], str] = escaped) -> str:
    r"""Text in which every key of the bibliography has become a citation.

    Parameters
    ----------
    text : str
        Plain text.
    keys : collection of str
        Keys that the bibliography holds.
    words : callable
        Writes the text between the keys; :func:`escaped` unless given.

    Examples
    --------
    >>> print(cited("tested (curtis_2014, eq. 6_2)", {"curtis_2014"}))
    tested (\cite{curtis_2014}, eq. 6\_2)
    """
    found, last = [], 0
    for match in KEY.finditer(text):
        if match.group() in keys:
            found += [words(text[last : match.start()]), rf"\cite{{{match.group()}}}"]
            last = match.end()
    return "".join([*found, words(text[last:])])


def docstring(text: str) -> str:
    r"""Words of a docstring with their inline mark-up.

    Examples
    --------
    >>> print(docstring("Uses ``gas_oxygen.csv`` and :func:`a.b.water_energy`, with :math:`x_1` in it."))
    Uses \texttt{gas\_oxygen.csv} and \texttt{water\_energy}, with \(x_1\) in it.
    """
    found, last = [], 0
    for match in INLINE.finditer(text):
        found.append(escaped(text[last : match.start()]))
        last = match.end()
        if match.group("math") is not None:
            found.append(rf"\({match.group('math')}\)")
        else:
            name = match.group("role") or match.group("code") or match.group("word") or ""
            short = name.rpartition(".")[2] if match.group("role") else name
            found.append(rf"\texttt{{{escaped(short)}}}")
    return "".join([*found, escaped(text[last:])])
