"""The page of a search for a tour: one HTML file that asks nothing of the network."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from tradespace.constants import table_values
from tradespace.figures.tours import tours_figure
from tradespace.quantities import display
from tradespace.report.page import Markup, Row, Section, facts, figure_block, page, paragraph, table, text
from tradespace.report.sources import cautions
from tradespace.sweep import versions
from tradespace.touring import tables
from tradespace.units import format_date as plain_date

if TYPE_CHECKING:
    from tradespace.touring import Tours

HOPS = (
    "Hop", "From", "To", "Arrives", "Refuels", "Waits", "Departs", "Lands", "Delta-v", "Water mined", "Propellant",
    "Energy", "Chance so far", "Least margin",
)  # fmt: skip
SITES = "site_values.csv"
PAGE = "tour.html"


def format_date(moment: float) -> str:
    """A date that is not broken over two lines."""
    return plain_date(moment).replace("-", "\N{NON-BREAKING HYPHEN}")


def tour_page(tours: Tours) -> str:
    """The page as text.

    Parameters
    ----------
    tours : Tours
        What a search found.
    """
    study, found = tours.study, versions()
    program = f"tradespace {found.get('tradespace', '')}".replace("not installed", "").strip()
    source = (
        f"Computed by {program} from study {study.name} ({str(study.hash)[:12]}): "
        f"{sum(level.tried for level in tours.found.levels)} hops flown."
    )
    header = Markup(
        f"<h1>{text('Tours: ' + study.title)}</h1>"
        + paragraph(study.note, look="note")
        + paragraph(
            f"Craft: {tours.vehicle.architecture}, "
            f"{display('start_mass', float(tours.vehicle.craft['start_mass'][0]))} at the start, sized for the study's "
            f"own route {' → '.join(study.stops)}; from {format_date(study.start_date)} to "
            f"{format_date(study.horizon)}; departures: {study.options.get('departure', 'cheapest')}."
        )
    )
    sections = [
        Section(
            "best", "The best tour",
            [paragraph(tables.best_in_words(tours), look="verdict closes"), paragraph(tables.own_in_words(tours)),
             paragraph(tables.search_in_words(tours)), hop_rows(tours)],
        ),
        Section("tours", "When it is where", [figure_block(tours_figure(tours, source))]),
        Section("next", "Runners-up", [tour_rows(tours)]),
        Section("outside", "Bodies no tour reached", [paragraph(tables.left_out_in_words(tours)), outside_rows(tours)]),
        Section("assumptions", "Assumptions", assumptions(tours)),
        Section(
            "run", "How to run it again",
            [facts([("Study", study.name), ("Hash of the study", study.hash),
                    *((f"Version of {name}", words) for name, words in sorted(found.items()))])],
        ),
        Section(
            "cautions", "Cautions",
            [paragraph("Hydrogen, oxygen, caustic and pressure in one place: reminders, not limits and not "
                       "instructions; the documents named decide, with local codes and licensed practice."),
             *cautions()],
        ),
    ]  # fmt: skip
    return page(f"{study.title} - tours", header, sections)


def hop_rows(tours: Tours) -> Markup:
    """The hops of the best tour."""
    rows = [
        Row([
            row.hop, row.departure_body, row.arrival_body, format_date(row.arrival_date),
            display("refuel_time", row.refuel_time), display("wait", row.wait), format_date(row.departure_date),
            format_date(row.landing_date), display("delta_v", row.delta_v), display("water_mined", row.water_mined),
            display("propellant_used", row.propellant_used), display("energy", row.energy),
            display("survival", row.survival), f"{display('margin', row.margin)} ({row.limited_by})",
        ])
        for row in _typed(tables.hop_table(tours.best))
    ]  # fmt: skip
    return table("Hops of the best tour.", HOPS, rows, numeric=(0, 8, 9, 10, 11, 12))


def _typed(frame: Any) -> Any:
    return frame.itertuples(index=False)


def tour_rows(tours: Tours) -> Markup:
    """All tours listed, the best first, and the study's own route."""
    listed = [(str(rank), one) for rank, one in enumerate(tours.found.tours, start=1)]
    if tours.hand_made.hops.size:
        listed.append(("own route", tours.hand_made))
    rows = [
        Row([
            place, " → ".join(one.names), tables.shown_merit(tours, one.merit), format_date(one.end_date),
            display("propellant_used", one.water), display("delta_v_total", float(one.hops["delta_v"].sum())),
            display("survival", one.survival),
        ])
        for place, one in listed
    ]  # fmt: skip
    heading = tables.merit_heading(tours).capitalize()
    headings = ("Rank", "Tour", heading, "Ends", "Propellant", "Delta-v", "Chance to complete")
    return table(
        "The best tours of different orders, and the study's own route with the same craft as far as it closes.",
        headings, rows, numeric=(2, 4, 5, 6),
    )  # fmt: skip


def outside_rows(tours: Tours) -> Markup:
    """Candidates that were left out or never reached, and why."""
    rows = [Row(list(pair)) for pair in tables.never_reached(tours)]
    return table("Hops tried, by the link that failed, or why none was tried.", ("Body", "Why"), rows)


def assumptions(tours: Tours) -> list[Markup]:
    """What the chances and the departures rest on."""
    from tradespace import bodies

    rows = []
    for kind in dict.fromkeys(bodies.body(name).water_class for name in tours.search.bodies):
        found = table_values(SITES)[f"dry_{kind}"]
        rows.append(
            Row([
                kind.replace("_", " "), display("survival", found.value),
                f"{display('survival', found.low)} to {display('survival', found.high)}", found.grade,
                found.source,
            ])
        )  # fmt: skip
    return [
        paragraph(tables.CAUTION),
        table(
            "Chance that a site is dry, by the evidence for water of its body: study values, unless the study gives "
            "its own.",
            ("Evidence for water", "Chance of a dry site", "Range", "Grade", "Source"),
            rows,
        ),
    ]
