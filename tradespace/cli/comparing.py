"""The command that sets the architectures side by side."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tradespace.cli.asking import complete_study, example, json_option, load
from tradespace.cli.differing import compare_two
from tradespace.cli.printing import closing_tone, print_json, print_table
from tradespace.quantities import display, json_key, quantity
from tradespace.units import convert

if TYPE_CHECKING:
    from tradespace.comparison import BreakEven, Compared, Comparison
    from tradespace.results import Results

SHOWN = (
    "mined_specific_impulse",
    "total_power_per_thrust",
    "spent_energy",
    "energy_per_hop",
    "water_per_hop",
    "refuel_time",
    "hops_in_life",
    "payload_per_year",
)
CARRIED = 12
"""Architectures up to which the break-even energies are printed; more fit no terminal."""


@click.command(epilog=example("tradespace compare runs/belt"))
@click.argument("study", metavar="STUDY|RUN", shell_complete=complete_study)
@click.argument("other", metavar="[RUN]", required=False)
@json_option
def compare(study: str, other: str | None, as_json: bool) -> None:
    """Set the architectures of a STUDY or a RUN side by side, or two finished RUNs.

    A STUDY is evaluated with its sweep and nothing is written; a RUN is the folder of a finished run. Each
    architecture is shown by its best design that closes, else by the one nearest to closing.

    Of two runs it says what was asked otherwise, how many designs close, how the best ones differ and, where both
    are about the same designs, how many of them flipped.
    """
    if other is not None:
        compare_two(study, other, as_json=as_json)
        return
    from tradespace import comparison

    results = _results(study)
    found = comparison.compare(results)
    if as_json:
        print_json(content(results, found))
        return
    print_table(
        ("no", "architecture", "rests on", "closes", *(heading(name) for name in SHOWN), "payback hops", "start ratio"),
        [_numbers(one) for one in found.rows],
        title="The architectures side by side, the best first",
        tones={"closes": closing_tone},
    )  # fmt: skip
    click.echo("payback hops: water mined exceeds the mass of plant and power that only refuelling needs")
    click.echo("start ratio: start mass of the best craft that does not refuel over its own")
    click.echo()
    print_table(
        ("no", "maturity", "readiness", "sources"),
        [(one.place, one.evidence.maturity or "-", _readiness(one), "; ".join(one.evidence.sources) or "-")
         for one in found.rows],
        title="What has been shown of each",
    )  # fmt: skip
    _print_pairs(found)
    words = comparison.mark_words(results)
    if words:
        click.echo(words)


def heading(name: str) -> str:
    """Name of a column in words."""
    return name.replace("_", " ")


def _results(text: str) -> Results:
    from tradespace import sweep

    return sweep.read_run(Path(text)) if Path(text).is_dir() else sweep.run(load(text))


def _number(name: str, value: float) -> str:
    return "never" if math.isinf(value) else display(name, value)


def _plain(value: float, endless: str) -> str:
    if math.isnan(value):
        return "-"
    return endless if math.isinf(value) else f"{value:.3g}"


def _numbers(one: Compared) -> list[object]:
    row = one.standing.row
    state = "yes" if one.standing.closes else "no" if row is None else f"no: {row['limited_by']}"
    return [
        one.place, one.standing.name, one.evidence.mark or one.evidence.grade, state,
        *(_number(name, one.numbers[name]) for name in SHOWN),
        _plain(one.payback_hops, "never"), _plain(one.start_mass_ratio, "only this closes"),
    ]  # fmt: skip


def _readiness(one: Compared) -> str:
    found = one.evidence.shown.get("readiness")
    return "-" if found is None else readiness_words(found.value)


def readiness_words(value: Any) -> str:
    """A readiness level with its range.

    Parameters
    ----------
    value : Value
        The row of a thruster's table.
    """
    span = "" if value.low == value.high else f" ({value.low:g}-{value.high:g})"
    return f"{value.value:g}{span}"


def _print_pairs(found: Comparison) -> None:
    order = found.order()
    if len(order) < 2:
        click.echo()
        return
    places = {one.standing.name: one.place for one in found.rows}
    cells = {(one.slow, one.fast): one for one in found.pairs}
    price, change = display("extraction_energy", found.price), display("delta_v", found.delta_v)
    click.echo()
    if len(order) > CARRIED:
        click.echo(
            f"break-even extraction energies of {len(found.pairs)} pairs: with --json, or in the report"
        )
        return
    print_table(
        ("no", "mines more", *(str(places[name]) for name in order[1:])),
        [
            (places[slow], slow,
             *("" if column <= line else _pair(cells[(slow, fast)], places)
               for column, fast in enumerate(order[1:], 1)))
            for line, slow in enumerate(order[:-1])
        ],
        title=f"Break-even extraction energy [kWh/kg] at {change} a hop; the study's: {price}",
    )  # fmt: skip
    click.echo(
        "below it the architecture of the row takes less energy in all, above it that of the column (by no)"
    )


def _pair(one: BreakEven, places: dict[str, int]) -> str:
    if one.always:
        return f"{places[one.ahead]} always"
    return f"{convert(one.energy, 'J/kg', 'kWh/kg'):.3g}"


def content(results: Results, found: Comparison) -> dict[str, Any]:
    """Everything as one object, values in the unit in their key."""
    return {
        "study": results.study.name,
        "hop_delta_v_km_s": quantity("delta_v").shown(found.delta_v),
        "extraction_energy_kwh_kg": quantity("extraction_energy").shown(found.price),
        "best_that_does_not_refuel": None if found.carried is None else found.carried.name,
        "architectures": [_row(one) for one in found.rows],
        "break_even": [
            {
                "mines_more": one.slow,
                "mines_less": one.fast,
                "extraction_energy_kwh_kg": quantity("extraction_energy").shown(one.energy),
                "always": {"slow": one.slow, "fast": one.fast}.get(one.always),
                "ahead_at_the_study": one.ahead or None,
            }
            for one in found.pairs
        ],
    }


def _row(one: Compared) -> dict[str, Any]:
    row = one.standing.row
    return {
        "place": one.place,
        "architecture": one.standing.name,
        "title": one.standing.title,
        "refuels": one.standing.refuels,
        "closes": one.standing.closes,
        "limited_by": None if row is None else str(row["limited_by"]),
        **{json_key(name): quantity(name).shown(value) for name, value in one.numbers.items()},
        "refuelling_mass_kg": one.refuelling_mass,
        "payback_hops": "never" if math.isinf(one.payback_hops) else one.payback_hops,
        "start_mass_ratio": "only this closes" if math.isinf(one.start_mass_ratio) else one.start_mass_ratio,
        "maturity": one.evidence.maturity,
        "demonstrated": one.evidence.demonstrated,
        "weakest_grade": one.evidence.grade,
        "sources": list(one.evidence.sources),
        "shown": {name: _evidence(item) for name, item in one.evidence.shown.items()},
    }


def _evidence(item: Any) -> dict[str, Any]:
    value = item.value
    shown = {
        key: float(convert(getattr(value, key), value.unit, item.unit)) for key in ("value", "low", "high")
    }
    return {**shown, "unit": item.unit, "grade": value.grade, "source": value.source, "where": value.where}
