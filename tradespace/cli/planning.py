"""How the plan and the uncertain inputs of a study are told."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from tradespace.cli.printing import print_table
from tradespace.quantities import display, json_key, quantity

if TYPE_CHECKING:
    from tradespace.study import Study

SHARES = (0.05, 0.5, 0.95)
"""Percentiles that are printed for an uncertain input."""


def print_uncertain(asked: Study) -> None:
    """Table of the uncertain inputs; one line when the study says nothing about them."""
    from tradespace.sampling import distribution_words, quantile

    found = asked.uncertain
    click.echo()
    if not any(item.stated for item in found.inputs):
        click.echo(
            f"uncertain: {len(found.inputs)} inputs that have a range, each by its own low, high and grade; state "
            "others in [uncertain], see them all with --json"
        )
        return
    rows = [
        (
            item.name,
            distribution_words(item),
            *(display(item.name, float(value)) for value in quantile(item, SHARES)),
            "study" if item.stated else item.grade,
        )
        for item in found.inputs
    ]
    print_table(("uncertain", "distribution", *(f"{100 * share:g} %" for share in SHARES), "stated by"), rows)
    click.echo(f"{found.samples} samples; asked chance of closing {100.0 * found.chance:g} %")
    if found.correlation is not None:
        click.echo()
        print_table(("rank correlation", "with", "is"), correlated_pairs(asked))


def correlated_pairs(asked: Study) -> list[tuple[str, str, str]]:
    """Pairs of uncertain inputs whose ranks are correlated."""
    names, rank = asked.uncertain.names, asked.uncertain.correlation
    if rank is None:
        return []
    return [
        (name, names[other], f"{rank[place, other]:g}")
        for place, name in enumerate(names)
        for other in range(place + 1, len(names))
        if rank[place, other] != 0.0
    ]


def described_plan(asked: Study) -> dict[str, Any]:
    """The plan as JSON."""
    from tradespace.sampling import designs_per_architecture

    return {"kind": asked.plan.kind, "designs_per_architecture": designs_per_architecture(asked)}


def described_uncertain(asked: Study) -> dict[str, Any]:
    """The uncertain inputs as JSON, percentiles in display units."""
    from tradespace.sampling import distribution_words, quantile

    found = asked.uncertain
    return {
        "samples": found.samples,
        "chance": found.chance,
        "inputs": {
            json_key(item.name): {
                "kind": item.kind,
                "words": distribution_words(item),
                "percentiles": {
                    f"{100 * share:g}": quantity(item.name).shown(float(value))
                    for share, value in zip(SHARES, quantile(item, SHARES), strict=True)
                },
                "grade": item.grade,
                "stated": item.stated,
            }
            for item in found.inputs
        },
        "rank_correlation": [
            {"inputs": [first, second], "rank": float(rank)}
            for first, second, rank in correlated_pairs(asked)
        ],
    }
