"""Commands about one link of the chain: transfer, chamber and cell."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import click

from tradespace.cli.asking import example, json_option
from tradespace.cli.completing import complete_body
from tradespace.cli.departures import cautions, print_cautions
from tradespace.cli.printing import number, print_json, print_pairs
from tradespace.errors import UnitError
from tradespace.units import convert, format_date, parse_date, parse_quantity

MOST_TURNS = 5
SENSE = {True: "prograde", False: "retrograde"}
CAUTION_GASES = (
    "Caution: hydrogen with oxygen burns and detonates, and oxygen under pressure sets metals alight; "
    "these numbers are for study only. Follow local codes and leave the work to licensed practice."
)
CAUTION_CELL = (
    "Caution: a cell makes hydrogen and oxygen that must never mix, under pressure, with hot caustic "
    "electrolyte and high current; these numbers are for study only. Follow local codes and leave the work "
    "to licensed practice."
)


def option_value(option: str, text: str, unit: str) -> float:
    """A quantity given as an option, in SI.

    Raises
    ------
    UnitError
        If it cannot be read; the message names the option.
    """
    try:
        return parse_quantity(text, unit)
    except UnitError as error:
        raise UnitError(f"{option}: {error}") from error


def option_date(option: str, text: str) -> float:
    """A date given as an option, in seconds past J2000.

    Raises
    ------
    UnitError
        If it cannot be read; the message names the option.
    """
    try:
        return parse_date(text)
    except UnitError as error:
        raise UnitError(f"{option}: {error}") from error


@click.command(epilog=example("tradespace transfer Earth Mars --after 2035-01-01 --before 2037-06-01"))
@click.argument("departure_body", metavar="FROM", shell_complete=complete_body)
@click.argument("arrival_body", metavar="TO", shell_complete=complete_body)
@click.option("--after", metavar="DATE", help="Earliest departure.")
@click.option("--before", metavar="DATE", help="Latest departure.")
@click.option("--depart", metavar="DATE", help="Departure on this date; needs --arrive.")
@click.option("--arrive", metavar="DATE", help="Arrival on this date; needs --depart.")
@click.option(
    "--minimise", type=click.Choice(["c3", "arrival", "total"]), default="c3", show_default=True,
    help="Departure energy, arrival speed, or the sum of both speeds far away.",
)  # fmt: skip
@click.option(
    "--type", "transfer_type", type=click.IntRange(1, 2 * MOST_TURNS + 2), metavar="NUMBER",
    help="Half turns begun: less (1) or more (2) than half a turn; 3 and 4 with one full turn, and so on.",
)  # fmt: skip
@click.option(
    "--turns",
    type=click.IntRange(0, MOST_TURNS),
    metavar="NUMBER",
    help="Full turns around the Sun on the way.",
)
@click.option("--retrograde", is_flag=True, help="Fly against the sense of the planets.")
@click.option(
    "--path", type=click.Choice(["low", "high"]),
    help="Which of the two orbits with full turns; the better one if not given.",
)  # fmt: skip
@json_option
def transfer(
    departure_body: str, arrival_body: str, after: str | None, before: str | None, depart: str | None,
    arrive: str | None, minimise: str, transfer_type: int | None, turns: int | None, retrograde: bool,
    path: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Find the cheapest transfer, or the one on given dates.

    Give --after and --before to search departures, or --depart and --arrive.
    """
    searched, fixed = after is not None and before is not None, depart is not None and arrive is not None
    if searched == fixed or ((after or before) and (depart or arrive)):
        raise click.UsageError(
            "give --after and --before, or --depart and --arrive", click.get_current_context()
        )
    from tradespace import windows

    if turns is None:
        turns = 0 if transfer_type is None else (transfer_type - 1) // 2
    if after is not None and before is not None:
        first, last = option_date("--after", after), option_date("--before", before)
        found = windows.best_transfer(
            departure_body, arrival_body, first, last, minimise, transfer_type, revolutions=turns,
            prograde=not retrograde, path=path,
        )  # fmt: skip
    else:
        leave, land = option_date("--depart", str(depart)), option_date("--arrive", str(arrive))
        found = windows.transfer_on(departure_body, arrival_body, leave, land, turns, not retrograde, path)
    ascension, declination = windows.departure_asymptote(
        departure_body,
        arrival_body,
        found.departure,
        found.arrival,
        turns,
        not retrograde,
        found.path or "low",
    )
    content: dict[str, Any] = {
        "from": found.departure_body,
        "to": found.arrival_body,
        "departure": format_date(found.departure),
        "arrival": format_date(found.arrival),
        "time_of_flight_d": float(convert(found.time_of_flight, "s", "d")),
        "c3_km2_s2": float(convert(found.c3, "m2/s2", "km2/s2")),
        "v_inf_departure_km_s": float(convert(found.v_inf_departure, "m/s", "km/s")),
        "v_inf_arrival_km_s": float(convert(found.v_inf_arrival, "m/s", "km/s")),
        "transfer_angle_deg": float(convert(found.transfer_angle, "rad", "deg")),
        "transfer_type": found.transfer_type,
        "turns": found.revolutions,
        "sense": SENSE[found.prograde],
        "path": found.path or None,
        "asymptote_right_ascension_deg": float(convert(ascension, "rad", "deg")),
        "asymptote_declination_deg": float(convert(declination, "rad", "deg")),
    }
    warned = cautions([(found.departure_body, found.departure), (found.arrival_body, found.arrival)])
    if as_json:
        print_json(content | {"cautions": warned})
        return
    if not found.path:
        del content["path"]
    _print(content, as_json)
    print_cautions(warned)


@click.command(
    epilog=example('tradespace chamber --mixture-ratio 7.94 --chamber-pressure "10 bar" --expansion-ratio 50')
)
@click.option("--mixture-ratio", required=True, help="Mass of oxygen per mass of hydrogen, such as 7.94.")
@click.option("--chamber-pressure", required=True, help='Such as "10 bar".')
@click.option("--expansion-ratio", required=True, help="Nozzle exit area over throat area, such as 50.")
@click.option("--thrust", help='Thrust of one engine, such as "1 N", for the delivered specific impulse.')
@click.option(
    "--feed-humidity", default="0", show_default=True, help='Water vapour in the feed by mass, such as "3 %".'
)
@click.option(
    "--heat-loss", default="0", show_default=True,
    help='Heat lost to the walls over the lower heating value of the feed, such as "5 %".',
)  # fmt: skip
@json_option
def chamber(
    mixture_ratio: str, chamber_pressure: str, expansion_ratio: str, thrust: str | None, feed_humidity: str,
    heat_loss: str, as_json: bool,
) -> None:  # fmt: skip
    """State of a hydrogen-oxygen chamber, and specific impulse per weight of propellant and of water."""
    ratio = option_value("--mixture-ratio", mixture_ratio, "1")
    pressure = option_value("--chamber-pressure", chamber_pressure, "Pa")
    area = option_value("--expansion-ratio", expansion_ratio, "1")
    force = None if thrust is None else option_value("--thrust", thrust, "N")
    humidity = option_value("--feed-humidity", feed_humidity, "1")
    loss = option_value("--heat-loss", heat_loss, "1")
    from tradespace.physics.combustion import chamber_state

    _print(chamber_state(ratio, pressure, area, force, humidity, loss), as_json, CAUTION_GASES)


CELL_OPTIONS = (
    ("electrolyte_strength", "1", 'Mass share of the electrolyte, such as "30 %".'),
    ("electrode_gap", "m", 'Free electrolyte between the electrodes, such as "2 mm".'),
    ("gas_void_fraction", "1", 'Share of gas in that gap, such as "10 %".'),
    ("membrane_thickness", "m", 'Such as "178 um".'),
    ("steam_utilisation", "1", 'Share of the steam split in one pass, such as "70 %" (solid oxide).'),
    ("ageing_rate", "V/s", 'Rise of the voltage with operating time, such as "4.8 uV/h".'),
    ("age", "s", 'Operating time, such as "10000 h"; new if not given.'),
    ("microgravity_overvoltage", "V", 'Voltage lost to bubbles that do not rise, such as "100 mV".'),
    ("stack_cells", "1", "Cells in series that share their ducts."),
    ("cell_area", "m2", 'Active area of one cell, such as "100 cm2".'),
    ("duct_area", "m2", 'Section of electrolyte from a cell to a shared duct, such as "0.5 cm2".'),
)
"""Parts of a cell that may be given: option, unit, help; the others keep the value of the table."""

CELL_FIELDS = {"age": ("operating_time",), "duct_area": ("duct_area", "manifold_area")}
"""Fields of the cell an option sets, where they are not of the same name."""


def cell_options(command: Callable[..., None]) -> Callable[..., None]:
    """Add one long option for every part of a cell that may be given."""
    for name, _, text in reversed(CELL_OPTIONS):
        command = click.option(f"--{name.replace('_', '-')}", name, help=text)(command)
    return command


def given_fields(electrolyte: str | None, texts: Mapping[str, str | None]) -> dict[str, float | str]:
    """Fields of the cell from the options that were given, in SI."""
    given: dict[str, float | str] = {} if electrolyte is None else {"electrolyte": electrolyte}
    for name, unit, _ in CELL_OPTIONS:
        text = texts[name]
        if text is not None:
            number = option_value(f"--{name.replace('_', '-')}", text, unit)
            given |= dict.fromkeys(CELL_FIELDS.get(name, (name,)), number)
    return given


@click.command(
    epilog=example(
        'tradespace cell --current-density "0.3 A/cm2" --temperature "80 degC" --pressure "1 bar"',
        CAUTION_CELL,
    )
)
@click.option(
    "--kind", default="alkaline", show_default=True,
    help="Kind of electrolysis cell: alkaline, membrane, solid_oxide or common_duct.",
)  # fmt: skip
@click.option("--current-density", required=True, help='Such as "0.3 A/cm2".')
@click.option("--temperature", required=True, help='Such as "80 degC".')
@click.option("--pressure", required=True, help='Such as "1 bar".')
@click.option("--electrolyte", help="Name of the electrolyte, such as potassium_hydroxide.")
@cell_options
@json_option
def cell(
    kind: str, current_density: str, temperature: str, pressure: str, electrolyte: str | None, as_json: bool,
    **texts: str | None,
) -> None:  # fmt: skip
    """Voltage of an electrolysis cell part by part, its efficiency and its heat.

    Three thermoneutral voltages are in use: of the reaction at the cell's temperature (thermoneutral), with water
    fed at 25 degC (cold_feed), and with the vapour that the gases carry off (vapour_laden).
    """
    current = option_value("--current-density", current_density, "A/m2")
    kelvin = option_value("--temperature", temperature, "K")
    pascal = option_value("--pressure", pressure, "Pa")
    given = given_fields(electrolyte, texts)
    from tradespace.physics.electrolysis import cell_state

    _print(cell_state(kind, current, kelvin, pascal, given), as_json, CAUTION_CELL)


def _print(content: dict[str, Any], as_json: bool, caution: str = "") -> None:
    if as_json:
        print_json(content)
        return
    print_pairs(
        (name, number(value) if isinstance(value, float) else value) for name, value in content.items()
    )
    if caution:
        click.echo(caution)
