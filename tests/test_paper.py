"""The paper bundle: whole, true to the run, safe against any text, and readable by LaTeX."""

from __future__ import annotations

import csv
import json
import re
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import latex_reader
import plotly.graph_objects as go
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st
from invented_results import HOSTILE, invented_results
from plotly.subplots import make_subplots
from small_studies import TOUR

from tradespace import sweep, validation
from tradespace.cli import main
from tradespace.errors import OutputError
from tradespace.figures import draw_figures
from tradespace.findings import Account, account_of, result_tables, sources_used
from tradespace.findings.models import documented, model, models_of
from tradespace.findings.sources import Source, source_of
from tradespace.paper import MANIFEST, fill, write_paper
from tradespace.paper import bundle as bundles
from tradespace.paper import pictures as picture_files
from tradespace.paper.bibliography import bibliography, entries, entry
from tradespace.paper.booktabs import latex_table
from tradespace.paper.latex import cited, docstring, escaped
from tradespace.paper.narrow import NARROW, TALLEST, narrowed, panels
from tradespace.paper.pictures import PER_MILLIMETRE, WIDTHS, write_pictures
from tradespace.results import Results
from tradespace.study import parse_study
from tradespace.tables import read_table

CALLED = [
    ("tradespace.physics.sunlight.flux", "solar_flux_kernel"),
    ("tradespace.physics.sunlight.array", "new_power_density_kernel"),
    ("tradespace.physics.electrolysis.point", "cell_kernel"),
    ("tradespace.physics.rocket.burns", "propellant_mass_kernel"),
    ("tradespace.physics.domain", "above"),
    ("tradespace.spacecraft.power", "array_left"),
]
REQUIRED = {
    "article": {"author", "title", "journal", "year"},
    "book": {"author", "title", "publisher", "year"},
    "techreport": {"author", "title", "institution", "year"},
    "phdthesis": {"author", "title", "school", "year"},
    "incollection": {"author", "title", "booktitle", "publisher", "year"},
    "misc": {"title"},
}
KEYS = ("closure_map", "refuel_time", "mass_breakdown")


@pytest.fixture(scope="module", autouse=True)
def few_checks() -> Iterator[None]:
    """A handful of checks stand for all of them: they have tests of their own."""
    few = tuple(validation.evaluate(list(validation.checks())[:4]))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(validation, "known_outcomes", lambda: few)
        yield


def account() -> Account:
    return Account(
        tuple(models_of(CALLED)),
        (("spacecraft.power.array_left", "Share left [1]."),),
        (("constants.csv", "solar_constant"),),
    )


def bundle_of(results: Results, folder: Path, **options: Any) -> Path:
    folder.mkdir()
    fill(folder, results, account(), list(draw_figures(results, KEYS)), **{"images": False, **options})
    return folder


@pytest.fixture(scope="module")
def tour() -> Results:
    return invented_results()


@pytest.fixture(scope="module")
def bundle(tour: Results, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return bundle_of(tour, tmp_path_factory.mktemp("paper") / "bundle")


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return bundle_of(
        invented_results(hostile=True, extra=3, count=6), tmp_path_factory.mktemp("hostile") / "bundle"
    )


@pytest.fixture(scope="module")
def run(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A real run, small and without its report."""
    folder = tmp_path_factory.mktemp("runs") / "run"
    sweep.run(parse_study(TOUR, "small_tour.toml"), folder)
    return folder


@pytest.fixture(scope="module")
def followed(run: Path) -> Account:
    """The models behind that run, from a process of its own."""
    return account_of(run)


def parts_of(folder: Path) -> dict[str, str]:
    return {
        path.relative_to(folder).as_posix(): path.read_text(encoding="utf-8")
        for path in folder.rglob("*.tex")
    }


# text


@given(st.text(max_size=60))
@settings(max_examples=150, deadline=None)
def test_no_text_is_obeyed(text: str) -> None:
    made = escaped(text)
    latex_reader.read(made)
    assert re.sub(r"\\\\", "", made).count("\n") == 0


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("\\write18{rm -rf x}", r"\textbackslash{}write18\{rm -rf x\}"),
        ("100 % & #1 ~^", r"100 \% \& \#1 \textasciitilde{}\textasciicircum{}"),
        ("η ≥ 0.5 Å", r"\(\eta\) \(\ge\) 0.5 \AA{}"),
        ("10⁻³ m³", r"10\(^{-3}\) m\(^{3}\)"),
        ("Coulomb's --", "Coulomb's -{}-"),
        ("[1] *", "{[}1{]} {*}"),
        ("水", "[U+6C34]"),
        ("a\x1b[31m\nb", "a {[}31m b"),
    ],
)
def test_signs_are_drawn_as_they_are(text: str, wanted: str) -> None:
    assert escaped(text) == wanted


def test_keys_become_citations_only_where_the_bibliography_has_them() -> None:
    assert cited("see izzo_2015; nobody_1900", {"izzo_2015"}) == r"see \cite{izzo_2015}; nobody\_1900"
    assert docstring(":func:`a.b.c_d` gives :math:`x_1^2`") == r"\texttt{c\_d} gives \(x_1^2\)"


# the bundle


def test_every_part_can_be_read(bundle: Path) -> None:
    found: dict[str, list[str]] = {}
    for name, text in parts_of(bundle).items():
        for kind, items in latex_reader.read(text, packages=name == "bundle.tex").items():
            found.setdefault(kind, []).extend(items)
    known = set(re.findall(r"^@\w+\{(\w+),$", (bundle / "references.bib").read_text(), re.MULTILINE))
    assert found["cite"] and set(found["cite"]) <= known
    assert set(found["ref"]) <= set(found["label"])
    assert len(found["label"]) == len(set(found["label"]))
    for name in found["input"]:
        assert (bundle / f"{name}.tex").is_file()


def test_the_hostile_study_is_text_everywhere(hostile: Path) -> None:
    for name, text in parts_of(hostile).items():
        latex_reader.read(text, packages=name == "bundle.tex")
        assert HOSTILE not in text
    whole = (hostile / "bundle.tex").read_text()
    assert escaped(HOSTILE) in whole
    assert r"\textless{}script\textgreater{}" in whole


def test_the_reader_can_tell() -> None:
    good = r"\begin{tabular}{@{}lr@{}} a & 1 \\ \end{tabular}"
    latex_reader.read(good)
    for bad in (
        good.replace("& 1", ""), good.replace(r"\end{tabular}", ""), "50 % of it", "a_b", r"\frac{1}{2}", "{", "x}",
        "ü", "a & b", r"\(x", "$x$", r"\write18{ls}",
    ):  # fmt: skip
        with pytest.raises(latex_reader.LatexError):
            latex_reader.read(bad + "\nrest" if bad == "50 % of it" else bad)


@pytest.mark.parametrize("case", [{}, {"surface": True}, {"closing": False}, {"sensitivity": False}])
def test_tables_hold_the_numbers_of_the_run(case: dict[str, Any], tmp_path: Path) -> None:
    results = invented_results(**case)
    tables = {table.key: table for table in result_tables(results)}
    assert {"ranking", "designs", "masses", "architectures", "assumptions", "choices", "checks"} <= set(
        tables
    )
    for table in tables.values():
        assert all(len(row) == len(table.columns) for row in table.rows)
        latex_reader.read(latex_table(table, set()))
    ranking = tables["ranking"]
    headings = [column.heading for column in ranking.columns]
    closing = dict(
        zip(
            (row[0] for row in ranking.rows),
            (row[headings.index("Closing")] for row in ranking.rows),
            strict=True,
        )
    )
    assert sum(int(str(one)) for one in closing.values()) == int(results.designs["closes"].sum())


def test_the_file_of_a_table_holds_its_full_numbers(bundle: Path, tour: Results) -> None:
    with (bundle / "tables" / "ranking.csv").open(encoding="utf-8") as handle:
        rows = list(csv.DictReader(handle))
    table = next(one for one in result_tables(tour) if one.key == "ranking")
    for row, wanted in zip(rows, table.rows, strict=True):
        for (heading, cell), own in zip(row.items(), wanted, strict=True):
            if isinstance(own, float):
                assert float(cell) == pytest.approx(own, rel=1e-9), heading


def test_the_manifest_names_what_is_there(bundle: Path, tour: Results) -> None:
    content = json.loads((bundle / MANIFEST).read_text())
    there = {path.relative_to(bundle).as_posix() for path in bundle.rglob("*") if path.is_file()}
    assert set(content["files"]) == there - {MANIFEST}
    assert content["study"] == {
        "name": tour.study.name, "title": tour.study.title, "sha256": tour.study.hash, "seed": tour.study.seed,
    }  # fmt: skip
    assert content["designs"] == len(tour.designs)
    assert content["versions_of_the_run"] == tour.versions
    assert set(content["figures"]) == {item.key for item in draw_figures(tour, KEYS)}
    assert set(content["sources_to_check_before_citing"]) <= set(content["sources"])


def test_the_same_run_gives_the_same_files(tour: Results, bundle: Path, tmp_path: Path) -> None:
    again = bundle_of(tour, tmp_path / "again")
    for path in sorted(bundle.rglob("*")):
        if path.is_file() and path.name != MANIFEST:
            assert (again / path.relative_to(bundle)).read_bytes() == path.read_bytes(), path.name


# sources


def test_every_source_has_the_fields_its_entry_needs() -> None:
    every = entries([source_of(row) for row in read_table("sources.csv").rows])
    text = bibliography(every)
    assert text.isascii()
    assert text.count("{") == text.count("}")
    assert len(every) > 200
    for one in every:
        kind, fields = entry(one)
        assert REQUIRED[kind] <= {name for name, value in fields.items() if value}, one.key


def test_a_source_that_was_not_read_says_so() -> None:
    one = Source(
        "a_2000",
        "paper",
        "Doe, J.; Roe, R.",
        "2000",
        "On {braces} & more",
        "Icarus 10:20-30",
        "from memory",
        (),
    )
    text = bibliography([one])
    assert text.startswith("% from memory\n@article{a_2000,")
    assert r"author = {Doe, J. and Roe, R.}" in text
    assert r"title = {{On \{braces\} \& more}}" in text
    assert "journal = {Icarus}" in text and "pages = {20--30}" in text


def test_only_what_was_used_is_a_source(tour: Results) -> None:
    with_models = {one.key: one for one in sources_used(tour, account())}
    without = {one.key for one in sources_used(tour)}
    assert "gueymard_2018" in with_models and "models" in with_models["gueymard_2018"].used_for
    assert without < set(with_models)
    assert "wintenberger_2003" not in with_models  # detonation: no architecture of this study


# models


def test_every_documented_formula_can_be_printed() -> None:
    names = {
        f"{module.removeprefix('tradespace.physics.')}.{name}": one
        for (module, name), one in documented().items()
    }
    told = [model(path, function) for path, function in names.items()]
    assert len(told) > 150
    assert sum(bool(one.equations) for one in told) > 100
    from tradespace.paper.methods import model_lines

    for one in told:
        latex_reader.read("\n".join(model_lines(one, set(one.keys))))
        assert "math::" not in "".join([*model_lines(one, ())]), one.path


def test_a_run_names_the_models_it_called_and_no_others(followed: Account) -> None:
    found = followed
    assert found.remark == ""
    paths = {one.path for one in found.models}
    assert paths >= {
        "sunlight.array.array_power_density", "electrolysis.cell.ulleberg_2003", "rocket.burns.propellant_mass",
        "extraction.plant.water_energy", "lambert.excess_speeds", "combustion.expansion.specific_impulse_vacuum",
    }  # fmt: skip
    assert not [path for path in paths if path.startswith(("detonation", "electric."))]
    assert "electrolysis.membrane.springer_1991" not in paths  # the cell is alkaline
    assert ("constants.csv", "solar_constant") in found.rows
    assert any(name.startswith("spacecraft.closure") for name, _ in found.steps)


def test_models_that_cannot_be_followed_leave_a_remark(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def ended(*_: object, **__: object) -> None:
        raise subprocess.CalledProcessError(1, "python", stderr="no memory is left")

    monkeypatch.setattr(subprocess, "run", ended)
    found = account_of(tmp_path)
    assert found.models == ()
    assert found.remark == "the models could not be followed: no memory is left"


# the command


def test_the_command_writes_a_bundle_of_a_run(
    run: Path, followed: Account, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bundles, "account_of", lambda _: followed)
    out = tmp_path / "paper"
    asked = ["paper", str(run), "--out", str(out), "--no-images", "--figures", "mass_breakdown"]
    result = CliRunner().invoke(main, asked)
    assert result.exit_code == 0, result.output
    assert "bundle.tex" in result.stdout
    again = CliRunner().invoke(main, [*asked, "--json"])
    content = json.loads(again.stdout)
    assert content["remarks"] == [] and MANIFEST in content["files"]
    assert (out / "methods.tex").is_file() and not list(tmp_path.glob(".*"))
    for name, text in parts_of(out).items():
        latex_reader.read(text, packages=name == "bundle.tex")


def test_a_folder_with_something_else_is_left_alone(run: Path, tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("keep me")
    result = CliRunner().invoke(main, ["paper", str(run), "--out", str(tmp_path)])
    assert result.exit_code == 2
    assert "holds something else" in result.stderr and len(result.stderr.splitlines()) == 1
    assert (tmp_path / "mine.txt").read_text() == "keep me"
    with pytest.raises(OutputError, match="no finished run"):
        write_paper(tmp_path, tmp_path / "new")
    assert not (tmp_path / "new").exists()


def test_without_a_browser_the_rest_is_written(
    tour: Results, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import kaleido
    from kaleido.errors import ChromeNotFoundError

    def no_browser(*_: object, **__: object) -> None:
        raise ChromeNotFoundError

    monkeypatch.setattr(kaleido, "write_fig_from_object_sync", no_browser)
    folder = bundle_of(tour, tmp_path / "bundle", images=True)
    content = json.loads((folder / MANIFEST).read_text())
    assert "apt install chromium" in content["remarks"][0] and "plotly_get_chrome" in content["remarks"][0]
    assert (folder / "figures" / "data" / "refuel_time.csv").is_file()
    assert not (folder / "figures" / "single").exists()
    assert "includegraphics" not in (folder / "figures.tex").read_text()
    assert r"\input{figures}" not in (folder / "bundle.tex").read_text()


# pictures


def four_panels() -> go.Figure:
    figure = make_subplots(rows=2, cols=2, subplot_titles=["a", "b", "c", "d"])
    for place in range(4):
        figure.add_scatter(
            x=[1, 2],
            y=[place, 3],
            name="line",
            legendgroup="line",
            showlegend=place == 0,
            row=place // 2 + 1,
            col=place % 2 + 1,
        )
    figure.update_layout(height=900, margin={"t": 50, "b": 60})
    figure.update_xaxes(title_text="Time (d)", row=2)
    figure.update_yaxes(title_text="Mass (kg)", col=1)
    figure.update_yaxes(showticklabels=False, matches="y", col=2)
    figure.add_annotation(text="here", x=1.5, y=3, xref="x4", yref="y4")
    return figure


def test_panels_are_stacked_in_one_column_and_left_alone_in_two() -> None:
    whole = four_panels()
    before = whole.to_dict()
    wide = narrowed(whole, WIDTHS["double"], 980.0)
    assert [one.to_dict() for one in wide] == [before]
    parts = narrowed(whole, WIDTHS["single"], 476.0)
    assert whole.to_dict() == before
    assert sum(len(one.data) for one in parts) == 4
    titles = [note.text for one in parts for note in one.layout.annotations]
    assert sorted(titles) == ["a", "b", "c", "d", "here"]
    for one in parts:
        boxes = [panel.box for panel in panels(one)]
        assert all(box[:2] == (0.0, 1.0) for box in boxes)
        assert all(upper[2] > lower[3] for upper, lower in pairwise(boxes))
        assert float(one.layout.height) <= TALLEST + 200.0
        assert sum(trace.showlegend is not False for trace in one.data) == 1
        for note in one.layout.annotations:
            if note.yref == "paper":
                assert min(abs(note.y - box[3]) for box in boxes) < 0.02
        for panel in panels(one):
            sides = [one.layout[f"{name[0]}axis{name[1:]}"] for name in (*panel.x, *panel.y)]
            assert [side.title.text for side in sides] == ["Time (d)", "Mass (kg)"]
            assert all(side.showticklabels is not False for side in sides)


def test_every_figure_of_a_run_keeps_its_traces_and_units_when_it_is_stacked(tour: Results) -> None:
    several = 0
    for item in draw_figures(tour, (*KEYS, "side_by_side", "exchange_rates", "power_efficiency_map")):
        parts = narrowed(item.figure, WIDTHS["single"], 476.0)
        several += len(parts) > 1
        assert sum(len(one.data) for one in parts) >= len(item.figure.data), item.key
        for one in parts:
            for panel in panels(one) if len({box.box[0] for box in panels(item.figure)}) > 1 else ():
                for name in (*panel.x, *panel.y):
                    side = one.layout[f"{name[0]}axis{name[1:]}"]
                    assert side.type == "category" or re.search(r"\(.+\)$", side.title.text or ""), (
                        item.key,
                        name,
                    )
    assert several > 2
    assert WIDTHS["single"] < NARROW < WIDTHS["double"]


def browser() -> str | None:
    return next(
        (
            path
            for name in ("chromium", "chromium-browser", "google-chrome", "chrome")
            if (path := shutil.which(name))
        ),
        None,
    )


def test_a_figure_that_fails_is_named_and_does_not_stop_the_others(
    tour: Results, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def draw(work: Any) -> None:
        for _, path, _ in work:
            if path.name == "refuel_time.pdf" and path.parent.name == "double":
                raise OutputError("the browser took too long")
            path.write_text('<svg x="1" width="5" height="6" viewBox="0 0 10 20">', encoding="utf-8")

    monkeypatch.setattr(picture_files, "draw_files", draw)
    folder = bundle_of(tour, tmp_path / "bundle", images=True)
    content = json.loads((folder / MANIFEST).read_text())
    assert content["remarks"] == ["figure refuel_time: the browser took too long"]
    shown = latex_reader.read((folder / "figures.tex").read_text())["includegraphics"]
    assert shown and not any("refuel_time" in name for name in shown)
    assert all((folder / name).is_file() for name in shown)
    svg = (folder / "figures" / "double" / "mass_breakdown.svg").read_text()
    assert 'width="175mm" height="350.00mm"' in svg


@pytest.mark.browser
@pytest.mark.skipif(browser() is None, reason="no Chrome or Chromium on this machine")
def test_pictures_have_their_printed_size_embedded_fonts_and_text(tour: Results, tmp_path: Path) -> None:
    item = next(iter(draw_figures(tour, ["refuel_time"])))
    hostile = replace(
        item, key="hostile", figure=go.Figure(item.figure).update_layout(title={"text": escape_title()})
    )
    counted: list[tuple[int, int]] = []
    done = write_pictures([item, hostile], tmp_path, lambda done, total: counted.append((done, total)))
    written = done.files
    assert done.failed == {} and len(written) == 8 and counted[-1] == (8, 8)
    for path in written:
        width = WIDTHS[path.parent.name]
        if path.suffix == ".svg":
            text = path.read_text(encoding="utf-8")
            assert re.match(rf'<svg[^>]* width="{width}mm" height="[\d.]+mm"', text)
            assert "Longest refuelling (d)" in re.sub(r"<[^>]+>", "", text)
            assert "<script" not in text
            continue
        content = path.read_bytes()
        box = re.search(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", content)
        assert box is not None
        assert float(box.group(1)) / 72.0 * 25.4 == pytest.approx(width, abs=0.5)
        fonts = content.count(b"/Type /FontDescriptor")
        assert fonts >= 1
        assert len(re.findall(rb"/FontFile[23]? ", content)) == fonts  # every font is in the file
    assert pytest.approx(96.0 / 25.4) == PER_MILLIMETRE


def escape_title() -> str:
    from tradespace.figures.style import escape

    return escape("<script>alert(1)</script>")


@pytest.mark.skipif(
    shutil.which("pdflatex") is None or shutil.which("bibtex") is None, reason="no LaTeX on this machine"
)
def test_the_document_compiles(hostile: Path) -> None:
    for command in (
        ["pdflatex", "-interaction=nonstopmode", "-halt-on-error", "bundle"],
        ["bibtex", "bundle"],
    ):
        done = subprocess.run(command, cwd=hostile, capture_output=True, text=True, timeout=120, check=False)
        assert done.returncode == 0, done.stdout[-2000:]
    assert (hostile / "bundle.pdf").stat().st_size > 10_000
