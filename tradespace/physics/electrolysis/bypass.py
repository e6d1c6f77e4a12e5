"""Current that goes past the cells through electrolyte they share (bypass or shunt current)."""

from __future__ import annotations

import math

from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, at_least

_SHORT = 1e-8  # numeric: below this ratio of resistances the manifold counts as one potential per port


@kernel
def bypass_current_kernel(
    cells: float, cell_voltage: float, duct_resistance: float, manifold_resistance: float
) -> float:
    """Current of one manifold that goes past a cell, mean over the cells [A]."""
    n = min(max(cells, 1.0), 1e4)
    port, segment = max(duct_resistance, 1e-12), max(manifold_resistance, 0.0)
    ratio = segment / port
    if ratio < _SHORT:
        return cell_voltage * (n * n - 1.0) / (12 * port)
    half = math.asinh(0.5 * math.sqrt(ratio))  # half the decay per cell: cosh(2 half) = 1 + ratio/2
    grown = -math.expm1(-2.0 * half * (n - 1.0)) / (1.0 + math.exp(-2.0 * half * n))
    ends = math.exp(-half) * grown / math.sinh(half)
    return cell_voltage * max(n - 1.0 - ends, 0.0) / (n * segment)


def bypass_current(
    cells: ArrayLike, cell_voltage: ArrayLike, duct_resistance: ArrayLike, manifold_resistance: ArrayLike
) -> FloatArray:
    r"""Current that one shared duct leads past a cell, mean over the stack.

    .. math:: \bar I = \frac{V}{N R_m}\left[N - 1 - \frac{\sinh \beta(N-1)/2}{\sinh(\beta/2) \cosh(\beta N/2)}\right],
        \quad \cosh\beta = 1 + \frac{R_m}{2 R_p}

    Parameters
    ----------
    cells : array_like, shape (...)
        Cells in series on the duct [1].
    cell_voltage : array_like, shape (...)
        Voltage of one cell [V].
    duct_resistance : array_like, shape (...)
        Electrolyte from a cell into the shared duct [ohm].
    manifold_resistance : array_like, shape (...)
        Shared duct from cell to cell [ohm].

    Returns
    -------
    ndarray, shape (...)
        Current [A].

    Raises
    ------
    DomainError
        If there is less than one cell, or voltage or a resistance is not above zero.

    Notes
    -----
    Ladder of equal rungs with the same voltage in every cell, which is an upper bound: a cell that loses current
    has a lower voltage. Short stacks: V (N^2 - 1) / 12 R_p. Long stacks: V / R_m.

    References
    ----------
    .. [1] closed form: second-order difference equation of a ladder; kaminski_1983 for the network.

    Examples
    --------
    >>> print(f"{bypass_current(28, 1.8, 100.0, 1.0):.3f}")
    0.660
    """
    return broadcast(
        bypass_current_kernel,
        at_least("cells", "1", cells, 1.0),
        above("cell voltage", "V", cell_voltage),
        above("duct resistance", "ohm", duct_resistance),
        above("manifold resistance", "ohm", manifold_resistance),
    )
