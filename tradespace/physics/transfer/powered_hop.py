"""Ballistic hops whose burns take their time: gravity's share of them, and the ground they cover themselves."""

from __future__ import annotations

import math

from tradespace.physics.compiled import ArrayLike, FloatArray, broadcast, kernel
from tradespace.physics.domain import above, within
from tradespace.physics.transfer.landing import slanted_launch_loss_kernel


@kernel
def powered_hop_loss_kernel(thrust_to_weight: float, elevation: float) -> float:
    """Velocity change of the burn over the impulsive launch speed, minus one; huge where the thrust cannot lift."""
    climb = 1.0 + slanted_launch_loss_kernel(thrust_to_weight, elevation)
    net = thrust_to_weight / climb  # acceleration along the path, in units of gravity
    shorter = 1.0 + math.cos(elevation) / max(net, 1e-9)
    return climb / math.sqrt(shorter) - 1.0


def powered_hop_loss(thrust_to_weight: ArrayLike, elevation: ArrayLike) -> FloatArray:
    r"""Gravity loss of each burn of a ballistic hop, as a share of the impulsive launch speed.

    .. math:: f = \frac{n/k}{\sqrt{1 + \cos\gamma/k}} - 1, \qquad k = \sqrt{n^2 - \cos^2\gamma} - \sin\gamma

    Parameters
    ----------
    thrust_to_weight : array_like, shape (...)
        Thrust over the weight at the surface of the body [1].
    elevation : array_like, shape (...)
        Launch angle above the horizontal [rad].

    Returns
    -------
    ndarray, shape (...)
        Velocity change of the burn above the impulsive launch speed, as a share of it [1].

    Raises
    ------
    DomainError
        If the thrust does not exceed the weight, or the angle lies outside 0 to 90 degrees.

    Notes
    -----
    Level ground and uniform gravity: the craft climbs in a straight line, coasts, and brakes along the mirror
    image. Both burns cover ground, so the coast is shorter than the hop and asks for less speed. Thrust that turns
    on the way would lose a little less, so this is an upper bound.

    References
    ----------
    .. [1] closed form: straight powered climb and descent around a parabola; estimated, no published value.

    Examples
    --------
    >>> import math
    >>> [round(float(loss), 3) for loss in powered_hop_loss([1.3, 4.0, 50.0], math.radians(45.0))]
    [1.009, 0.122, 0.007]
    """
    above("thrust_to_weight", "1", thrust_to_weight, 1.0)
    within("elevation", "rad", elevation, 0.0, 0.5 * math.pi)
    return broadcast(powered_hop_loss_kernel, thrust_to_weight, elevation)
