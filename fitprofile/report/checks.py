"""Words that stand on every sheet: stop checks, cautions, and what is signed."""

from __future__ import annotations

from fitprofile.stages.outcome import Transfer

CLUTCH = "Clutch frees fully; nothing pinches cable or hose."
WITHOUT_CLUTCH = "A clutch, where there is one, frees fully; nothing pinches cable or hose."
"""In place of `CLUTCH` where the bike's file has a brake lever and no clutch lever."""

STOP_CHECKS = (
    "Throttle snaps shut by itself at both locks; idle does not rise.",
    "Front lever firm after a minute of hold; brake light from both controls.",
    "Rear brake not held on by its pedal.",
    CLUTCH,
    "Steering reaches its own stops, not a hose, damper, screen or tank.",
    "Hoses free at full lock, fork extended and compressed.",
    "Reservoir cap near level; no banjo re-aimed without new washers and bleeding.",
    "Every fastener that was touched is at the maker's torque.",
)
CLIP_ON_CHECK = "Clip-ons fully engaged on the fork tubes."

CAUTIONS = (
    "Brake work and anything structural: the maker's manual and a licensed mechanic come first.",
    "Local law limits bar height and width; ask before the bike goes on the road.",
    "Sitting on a bike on a stand can tip it over: front wheel chock or straps, and a helper.",
    "No medical advice; pain that persists belongs to a clinician.",
)

SIGNED = ("Done by", "Checked by", "Date", "Signature")


def stop_checks(transfer: Transfer) -> tuple[str, ...]:
    """What is ticked before the bike is ridden, by what the bike has."""
    levers = transfer.bike.levers
    no_clutch = levers.brake is not None and levers.clutch is None
    checks = tuple(
        WITHOUT_CLUTCH if check == CLUTCH and no_clutch else check for check in STOP_CHECKS
    )
    return (*checks, CLIP_ON_CHECK) if transfer.clip_on else checks
