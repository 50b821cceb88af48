"""The bike as found, so that a borrowed one goes back as it came."""

from __future__ import annotations

from math import isfinite

from fitprofile.model.bike import ON_STAND
from fitprofile.report.page import (
    FIGURE,
    TICK,
    Block,
    Cell,
    Heading,
    Paragraph,
    Row,
    Table,
    small,
    text,
)
from fitprofile.report.step import origin
from fitprofile.report.wording import (
    DEG,
    MM,
    bare,
    figure,
    inches,
)
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.survey import ASSUMED

FOUND_POINTS = (
    ("seat", "Sit point"),
    ("peg", "Peg, top"),
    ("clamp", "Bar in its clamps"),
    ("grip_end", "Grip, outer end"),
    ("grip_inner", "Grip, inner end"),
    ("tube", "Fork tube"),
    ("brake_pedal", "Brake pedal"),
    ("gear_lever", "Gear lever"),
)
"""Points that the work can move; what stays needs no putting back."""


def on_stand(transfer: Transfer) -> str:
    """How a bike that was taped on a stand is shown; empty where it stood on its wheels."""
    if transfer.bike.state != ON_STAND:
        return ""
    if transfer.surveyed.stand_pitch_deg == 0.0:
        return "Taped on a stand whose pitch is taken as 0; figures are as on that stand."
    return "Taped on a stand; all figures here are as with both wheels on the floor."


def found_blocks(transfer: Transfer) -> tuple[Block, ...]:
    """Figures to put a borrowed bike back by, as surveyed."""
    points = transfer.surveyed.points
    named_points = [
        (words, points.others.get(name) or getattr(points, name, None))
        for name, words in FOUND_POINTS
    ]
    rows = []
    for words, at in named_points:
        if at is None:
            continue
        across = 2.0 * float(at.y)
        figures = [float(at.z), float(at.x), across]
        cells = [
            Cell((text(bare(value, MM), small(f" {inches(value)}" if value else "")),), FIGURE)
            for value in figures
        ]
        if not across:
            cells[2] = Cell((text(small("in the middle")),), FIGURE)
        rows.append(Row((Cell((text(words),)), *cells, Cell(kind=TICK))))
    rows += _found_controls(transfer)
    ahead = f"Ahead of {origin(transfer.surveyed)}"
    return (
        Heading("As found", "puts the bike back as it came"),
        Table(
            caption="The bike as found, with a box to tick when it is put back",
            head=("mm, inches", "Above floor", ahead, "Across", "Back"),
            rows=tuple(rows),
            kind="found",
        ),
        *((Paragraph(text(small(stood))),) if (stood := on_stand(transfer)) else ()),
    )


def _found_controls(transfer: Transfer) -> list[Row]:
    """Levers, grips and rake as read, one line each."""
    now = transfer.now
    lines = []
    for name in ("brake", "clutch"):
        if getattr(transfer.bike.levers, name) is None:
            continue
        angle, reach = getattr(now.lever_angle_deg, name), getattr(now.lever_reach_mm, name)
        below = f"{figure(float(angle), DEG)} below level" if isfinite(angle) else "angle not read"
        from_grip = f"reach {figure(float(reach), MM)}" if isfinite(reach) else "reach not taped"
        lines.append((f"{name.capitalize()} lever", f"{below}, {from_grip}"))
    rake = transfer.surveyed.rake
    status = {one.key: one.status for one in transfer.surveyed.observations}
    parts = (
        ("tilt", float(now.grip_tilt_deg), status.get("handlebar.grip_tilt") == ASSUMED),
        ("sweep", float(now.grip_sweep_deg), status.get("handlebar.grip_sweep") == ASSUMED),
        ("rake", rake.value, rake.assumed),
    )
    shown = (f"{w} {figure(v, DEG)}{' (assumed)' if assumed else ''}" for w, v, assumed in parts)
    lines.append(("Grips, rake", ", ".join(shown)))
    return [
        Row((Cell((text(words),)), Cell((text(shown),), columns=3), Cell(kind=TICK)))
        for words, shown in lines
    ]
