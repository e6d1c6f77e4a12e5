"""What a paper or proposal needs of a finished run: the command paper."""

from __future__ import annotations

from pathlib import Path

import click

from tradespace.cli.asking import example, json_option
from tradespace.cli.completing import complete_run
from tradespace.cli.printing import counting_bar, print_json
from tradespace.errors import printable

REMARK = "not written: "


@click.command(epilog=example("tradespace paper runs/outer_belt_ice_tour --out paper_of_the_tour"))
@click.argument("folder", metavar="RUN", type=click.Path(path_type=Path), shell_complete=complete_run)
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Folder of the bundle; default paper below RUN.",
)
@click.option("--figures", metavar="A,B,...", help="Only these figures; else every one that applies.")
@click.option("--no-images", is_flag=True, help="Leave out PDF and SVG; their data are written all the same.")
@json_option
def paper(folder: Path, out: Path | None, figures: str | None, no_images: bool, as_json: bool) -> None:
    """Write figures, tables, methods and bibliography of a finished RUN for a paper.

    Figures as PDF and SVG at one and two columns, each table as LaTeX and CSV, references.bib with the sources this
    study used, methods.tex with the models it called, and manifest.json. PDF and SVG need Chrome or Chromium.
    """
    from tradespace.paper import write_paper

    keys = [name.strip() for name in (figures or "").split(",") if name.strip()] or None
    with counting_bar("figures for print", lambda rate: f"{rate:.1f} a second") as bar:
        done = write_paper(
            folder,
            folder / "paper" if out is None else out,
            images=not no_images,
            keys=keys,
            told=None if bar is None else lambda drawn, total: bar(drawn, total, drawn),
        )
    unchecked = [one.key for one in done.sources if one.unchecked]
    if as_json:
        print_json(
            {
                "folder": str(done.folder),
                "files": list(done.files),
                "remarks": list(done.remarks),
                "sources": [one.key for one in done.sources],
                "sources_to_check_before_citing": unchecked,
            }
        )
        return
    for remark in done.remarks:
        click.echo(REMARK + printable(remark), err=True)
    click.echo(
        f"wrote {len(done.files)} files into {printable(done.folder)}: start with bundle.tex, which inputs all of them"
    )
    if unchecked:
        click.echo(
            f"{len(unchecked)} of {len(done.sources)} sources were not read at the source itself; each says so in "
            "references.bib: check them before citing"
        )
