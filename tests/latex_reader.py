"""A strict reader of LaTeX for the tests: what it accepts, LaTeX accepts, as far as the bundle goes."""

from __future__ import annotations

import re
from collections.abc import Iterator

TOKEN = re.compile(r"\\[A-Za-z]+\*?|\\.|[{}$&#%_^~]|[^\\{}$&#%_^~]+", re.DOTALL)
MATHS = {"gather", "equation", "align"}
TABULAR = {"tabular", "longtable"}
KNOWN_PACKAGES = {"amsmath", "array", "booktabs", "longtable", "graphicx", "geometry"}
ACCENTS = {r"\`", r"\'", r"\^", r"\~", r"\=", r"\.", r"\"", r"\u", r"\r", r"\H", r"\v", r"\c"}
COMMANDS = ACCENTS | {
    "\\" + name
    for name in (
        "begin end caption label centering footnotesize toprule midrule bottomrule addlinespace multicolumn "
        "emph par smallskip shortstack rotatebox textbackslash textasciitilde textasciicircum textless "
        "textgreater textbar cite texttt section subsection paragraph item setlength itemsep tabcolsep "
        "raggedright arraybackslash linewidth textheight endfirsthead endhead endfoot begingroup endgroup "
        "includegraphics clearpage input title author date maketitle nocite bibliographystyle bibliography "
        "documentclass usepackage emergencystretch dots ss o O ae AE l L i aa AA ref "
    ).split()
}
MATH_COMMANDS = {
    "\\" + name
    for name in (
        "frac tfrac dfrac sqrt int sum left right mathrm text ln log exp sin cos tan arccos arcsin arctan "
        "min max quad qquad cdot times le ge ne approx pm infty rightarrow triangleright circ mu surd "
        "partial leftarrow dagger ddagger ll gg grave dot ddot bar hat tilde vec alpha beta gamma delta "
        "epsilon varepsilon zeta eta theta iota kappa lambda nu xi pi rho sigma tau upsilon phi varphi "
        "vartheta chi psi omega Gamma Delta Theta Lambda Xi Pi Sigma Upsilon Phi Psi Omega Rightarrow "
        "propto mathbf operatorname prime sinh cosh tanh big Big bigl bigr Bigl Bigr lVert rVert sim equiv "
        "begin end overline underline ldots cdots odot oplus langle rangle mathcal hbar ell nabla to quad "
        "mid binom atop substack arsinh geq leq neq lfloor rfloor lceil rceil "
    ).split()
}
ESCAPES = {
    r"\\",
    r"\{",
    r"\}",
    r"\$",
    r"\&",
    r"\#",
    r"\%",
    r"\_",
    r"\,",
    r"\;",
    r"\!",
    r"\:",
    r"\(",
    r"\)",
    r"\ ",
    r"\|",
}


class LatexError(AssertionError):
    """Something that LaTeX would stumble over."""


def without_comments(text: str) -> str:
    """The text without lines that are comments."""
    return "\n".join(line for line in text.split("\n") if not line.startswith("%"))


def read(text: str, *, packages: bool = False) -> dict[str, list[str]]:
    """Read a file or part of one; gives the keys cited, labels set and files read.

    Raises
    ------
    LatexError
        If a brace, an environment or a row of a table does not fit, a sign would be obeyed, or a command is unknown.
    """
    if not text.isascii():
        raise LatexError(f"not plain ASCII: {sorted({sign for sign in text if not sign.isascii()})}")
    body = without_comments(text)
    if packages:
        named = set(re.findall(r"\\usepackage(?:\[[^\]]*\])?\{(\w+)\}", body))
        if not named <= KNOWN_PACKAGES:
            raise LatexError(f"packages {named - KNOWN_PACKAGES}")
    _walk(body)
    for begin, rows in tables(body):
        width = columns_of(begin)
        for row in rows:
            _row(row, width)
    return {
        "cite": [key for cell in re.findall(r"\\cite\{([^}]*)\}", body) for key in cell.split(",")],
        "label": re.findall(r"\\label\{([^}]*)\}", body),
        "ref": re.findall(r"\\ref\{([^}]*)\}", body),
        "input": re.findall(r"\\input\{([^}]*)\}", body),
        "includegraphics": re.findall(r"\\includegraphics(?:\[[^\]]*\])?\{([^}]*)\}", body),
    }


def _walk(body: str) -> None:
    """Braces, environments, mathematics, commands and signs."""
    open_: list[str] = []
    maths = ""
    tokens = list(TOKEN.finditer(body))
    for place, match in enumerate(tokens):
        token, at = match.group(), body[max(0, match.start() - 30) : match.end() + 30]
        if token == "{":
            open_.append("{")
        elif token == "}":
            if not open_ or open_.pop() != "{":
                raise LatexError(f"a brace closes nothing: {at!r}")
        elif token in {r"\begin", r"\end"}:
            name = re.match(r"\{(\w+\*?)\}", body[match.end() :])
            if name is None:
                raise LatexError(f"an environment without a name: {at!r}")
            if token == r"\begin":
                open_.append(name.group(1))
            elif not open_ or open_.pop() != name.group(1):
                raise LatexError(f"an environment closes another: {at!r}")
            if name.group(1) in MATHS:
                maths = name.group(1) if token == r"\begin" else ""
        elif token == r"\(":
            if maths:
                raise LatexError(f"mathematics inside mathematics: {at!r}")
            maths = "inline"
        elif token == r"\)":
            if maths != "inline":
                raise LatexError(f"the end of no mathematics: {at!r}")
            maths = ""
        elif token in {"_", "^"} and not maths and not _in_path(body, match.start()):
            raise LatexError(f"{token} outside mathematics: {at!r}")
        elif token == "&" and not {*open_} & (TABULAR | MATHS):
            raise LatexError(f"& outside a table: {at!r}")
        elif token in {"$", "#", "%"}:
            raise LatexError(f"a bare {token}: {at!r}")
        elif token[0] == "\\":
            known = COMMANDS | ESCAPES | (MATH_COMMANDS if maths else set())
            if token not in known and token[:2] not in ESCAPES:
                raise LatexError(f"the command {token} is not known here: {at!r}")
        del place
    if open_ or maths:
        raise LatexError(f"left open: {open_} {maths}")


def _in_path(body: str, place: int) -> bool:
    """Whether a sign stands in a key, label or file name, where it is not drawn."""
    before = body[:place]
    return bool(
        re.search(
            r"\\(cite|label|ref|input|includegraphics(\[[^\]]*\])?|bibliography)\{[^{}]*$", before[-200:]
        )
    )


def tables(body: str) -> Iterator[tuple[str, list[str]]]:
    """Column shapes and rows of every table."""
    for match in re.finditer(r"\\begin\{(tabular|longtable)\}", body):
        end = body.index(rf"\end{{{match.group(1)}}}", match.end())
        shapes, last = braced(body, match.end())
        inside = re.sub(r"\\caption\{.*\}\\label\{[^}]*\}\\\\\[4pt\]", "", body[last:end])
        inside = re.sub(
            r"\\(toprule|midrule|bottomrule|addlinespace|endfirsthead|endhead|endfoot)\b", "", inside
        )
        yield shapes, [row for row in split_rows(inside) if row.strip()]


def braced(text: str, place: int) -> tuple[str, int]:
    """What stands in the braces that open at a place, and where they end."""
    depth = 0
    for at in range(place, len(text)):
        depth += {"{": 1, "}": -1}.get(text[at], 0)
        if depth == 0:
            return text[place + 1 : at], at + 1
    raise LatexError("braces without an end")


def split_rows(inside: str) -> list[str]:
    """Rows at double backslashes that stand in no braces."""
    rows, depth, row, at = [], 0, "", 0
    while at < len(inside):
        pair = inside[at : at + 2]
        if pair == r"\\" and depth == 0:
            rows.append(row)
            row, at = "", at + 2
            continue
        if pair[0] == "\\":
            row, at = row + pair, at + 2
            continue
        depth += {"{": 1, "}": -1}.get(pair[0], 0)
        row, at = row + pair[0], at + 1
    return [*rows, row]


def columns_of(shapes: str) -> int:
    """How many columns a table has."""
    plain = re.sub(r"@\{\}|>\{[^{}]*\}", "", shapes)
    return len(re.findall(r"[lrc]|p\{[^}]*\}", plain))


def _row(row: str, width: int) -> None:
    """One row fills its columns; a heading across them says so."""
    text = row.strip()
    across = re.match(r"\\multicolumn\{(\d+)\}", text)
    cells = len(re.findall(r"(?<!\\)&", text)) + 1
    if across:
        cells = cells - 1 + int(across.group(1))
    if cells != width:
        raise LatexError(f"{cells} cells in a table of {width} columns: {text[:120]!r}")
    if text.startswith(("[", "*")):
        raise LatexError(f"the row would be taken for an option of the line before: {text[:60]!r}")
