"""Sentences that stand on every sheet."""

CAUTION = (
    "Computed guidance; it certifies nothing. Before riding check: firm lever, wheel free at rest, full release of "
    "the clutch, all screws, then a slow test where it is safe. Local law and a licensed workshop decide on the road."
)
"""The usual cautions, one line each on a page, one paragraph on a figure."""
