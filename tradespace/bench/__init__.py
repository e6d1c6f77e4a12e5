"""From the readings of a test stand to reconciled facts and to a calibration file that a study reads.

Hydrogen with oxygen burns and detonates over a wide range, hot caustic electrolyte burns skin and eyes, oxygen under
pressure feeds fires, and a current source raises pressure without limit. What is worked out here describes readings
that have been taken; it approves no set-up. Local codes and licensed practice rule.
"""

from __future__ import annotations

CAUTION = (
    "Caution: hydrogen with oxygen burns and detonates, hot lye burns skin and eyes, a current source raises pressure "
    "without limit. This describes readings that were taken and approves no set-up; local codes and licensed practice "
    "rule."
)
"""Stands at the head of every output of the bench."""
