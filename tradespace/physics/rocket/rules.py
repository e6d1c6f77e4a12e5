"""Margin rules by name: what each adds to an estimate, by its own definition.

A margin on the estimate of 30 per cent is a factor of 1.30, on the allocation of 1.43, and an item margin with a
system margin on top multiply. The numbers are in ``margin_values.csv``.
"""

from __future__ import annotations

import numpy as np

from tradespace.constants import value
from tradespace.errors import unknown_name
from tradespace.physics.compiled import ArrayLike, FloatArray
from tradespace.physics.domain import at_least
from tradespace.physics.rocket.margins import (
    TABLE,
    delta_v_with_margin,
    growth_factor,
    growth_factor_of_allocation_margin,
)

_SYSTEM = value("esa_system", TABLE)
_LOW_THRUST = value("esa_delta_v_low_thrust", TABLE)
_ATTITUDE = value("esa_delta_v_attitude", TABLE)
_APPROACH = value("esa_delta_v_approach", TABLE)
_DISPERSION = value("esa_delta_v_dispersion", TABLE)

ITEM_AND_SYSTEM = {
    "esa_off_the_shelf": "esa_maturity_off_the_shelf",
    "esa_modified": "esa_maturity_modified",
    "esa_new": "esa_maturity_new",
}
ON_ESTIMATE = {
    "ames_requirements": "ames_mass_requirements",
    "ames_preliminary": "ames_mass_preliminary",
    "ames_critical": "ames_mass_critical",
    "ames_integration": "ames_mass_integration",
    "goddard_pre_phase_a": "goddard_mass_pre_phase_a",
    "goddard_phase_a": "goddard_mass_phase_a",
    "goddard_phase_b": "goddard_mass_phase_b",
    "goddard_phase_c": "goddard_mass_phase_c",
}
ON_ALLOCATION = {
    "jpl_concept": "jpl_allocation_concept",
    "jpl_preliminary": "jpl_allocation_preliminary",
    "jpl_critical": "jpl_allocation_critical",
}
MARGIN_RULES = (*ITEM_AND_SYSTEM, *ON_ESTIMATE, *ON_ALLOCATION)
"""Rules for dry mass; the order is that of their definitions: item and system, on estimate, on allocation."""


def growth_factor_of_rule(rule: str) -> FloatArray:
    """Dry mass with the margin of a rule over the bare estimate.

    Parameters
    ----------
    rule : str
        One of ``MARGIN_RULES`` [text].

    Returns
    -------
    ndarray
        Factor on the estimate [1].

    Raises
    ------
    UnknownNameError
        If there is no such rule.

    Notes
    -----
    The definition behind the Ames numbers was not seen and is taken to be on the estimate.

    References
    ----------
    .. [1] esa_margin_2012, apr_8070, gsfc_std_1000 and jpl_d17868 (the last two from memory).

    Examples
    --------
    >>> for rule in ("esa_new", "goddard_pre_phase_a", "jpl_concept"):
    ...     print(f"{rule} {growth_factor_of_rule(rule):.3f}")
    esa_new 1.440
    goddard_pre_phase_a 1.300
    jpl_concept 1.429
    """
    if rule in ITEM_AND_SYSTEM:
        return growth_factor(value(ITEM_AND_SYSTEM[rule], TABLE), _SYSTEM)
    if rule in ON_ESTIMATE:
        return np.asarray(1.0 + value(ON_ESTIMATE[rule], TABLE))
    if rule in ON_ALLOCATION:
        return growth_factor_of_allocation_margin(value(ON_ALLOCATION[rule], TABLE))
    raise unknown_name("margin rule", rule, MARGIN_RULES)


def delta_v_budget(
    computed_delta_v: ArrayLike,
    low_thrust_delta_v: ArrayLike = 0.0,
    attitude_delta_v: ArrayLike = 0.0,
    approaches: ArrayLike = 0.0,
    direct_escapes: ArrayLike = 0.0,
) -> FloatArray:
    r"""Velocity change to carry propellant for, each part with its own margin, added once.

    .. math:: \Delta v_c + \max(0.05\,\Delta v_c, 10) + 1.10\,\Delta v_l + 2\,\Delta v_a + 20\,n_a + 45\,n_e

    Parameters
    ----------
    computed_delta_v : array_like, shape (...)
        Sum of accurately computed manoeuvres, gravity losses included [m s-1].
    low_thrust_delta_v : array_like, shape (...)
        Sum of low-thrust manoeuvres [m s-1].
    attitude_delta_v : array_like, shape (...)
        Attitude control and other stochastic manoeuvres [m s-1].
    approaches : array_like, shape (...)
        Number of planetary approaches to be navigated [1].
    direct_escapes : array_like, shape (...)
        Number of direct escapes whose launcher dispersion is to be corrected, 0 or 1 [1].

    Returns
    -------
    ndarray, shape (...)
        Velocity change with margins and allocations [m s-1].

    Raises
    ------
    DomainError
        If a value is negative.

    Notes
    -----
    A craft without computed manoeuvres gets no least margin. Other quotations of the rules give 30 m/s for the
    launcher dispersion. Every margin multiplies an estimate: none is to be added again to payload or propellant.

    References
    ----------
    .. [1] esa_margin_2012, items on delta-v (as quoted in public; attitude from memory).

    Examples
    --------
    >>> print(f"{delta_v_budget(1000.0, 500.0, 50.0, 1, 1):.0f}")
    1765
    """
    computed = at_least("computed_delta_v", "m/s", computed_delta_v)
    margined = np.where(computed > 0.0, delta_v_with_margin(computed), 0.0)
    return np.asarray(
        margined
        + (1.0 + _LOW_THRUST) * at_least("low_thrust_delta_v", "m/s", low_thrust_delta_v)
        + (1.0 + _ATTITUDE) * at_least("attitude_delta_v", "m/s", attitude_delta_v)
        + _APPROACH * at_least("approaches", "1", approaches)
        + _DISPERSION * at_least("direct_escapes", "1", direct_escapes)
    )
