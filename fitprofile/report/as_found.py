"""The bike as found, so that a borrowed one goes back as it came."""

from __future__ import annotations

from math import isfinite

from fitprofile.report.page import (
    FIGURE,
    TICK,
    Block,
    Cell,
    Heading,
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

FOUND_POINTS = (
    ("seat", "Sit point"),
    ("peg", "Peg, top"),
    ("clamp", "Bar in its clamps"),
    ("grip_end", "Grip, outer end"),
    ("grip_inner", "Grip, inner end"),
    ("tube", "Fork tube at the clip-on"),
)


def found_blocks(transfer: Transfer) -> tuple[Block, ...]:
    """Figures to put a borrowed bike back by, as surveyed."""
    points = transfer.surveyed.points
    named_points = [
        (words, getattr(points, name))
        for name, words in FOUND_POINTS
        if getattr(points, name) is not None
    ]
    named_points += [
        (name.replace("_", " ").capitalize(), at) for name, at in points.others.items()
    ]
    rows = []
    for words, at in named_points:
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
    grip = f"tilt {figure(float(now.grip_tilt_deg), DEG)}, "
    grip += f"sweep {figure(float(now.grip_sweep_deg), DEG)}"
    lines.append(("Grips", grip))
    rake = transfer.surveyed.rake
    assumed = " (assumed)" if rake.assumed else ""
    lines.append(("Rake", f"{figure(rake.value, DEG)}{assumed}"))
    return [
        Row((Cell((text(words),)), Cell((text(shown),), columns=3), Cell(kind=TICK)))
        for words, shown in lines
    ]
