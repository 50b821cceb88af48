"""The bike as found, so that a borrowed one goes back as it came."""

from __future__ import annotations

from math import isfinite

from fitprofile.geometry.vectors import Vec
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
from fitprofile.report.wording import DEG, MM, bare, figure, half_degrees, inches
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.survey import ASSUMED, BikePoints
from fitprofile.units import whole

CLIP = "Clip-on at its tube"

FOUND_POINTS = (
    ("seat", "Sit point"),
    ("peg", "Peg, top"),
    ("clamp", "Bar in its clamps"),
    ("grip_end", "Grip, outer end"),
    ("grip_inner", "Grip, inner end"),
    ("tube", CLIP),
    ("brake_pedal", "Brake pedal"),
    ("gear_lever", "Gear lever"),
)
"""Points that the work can move; what stays needs no putting back."""

TABLES = ("heights", "ahead", "widths")
"""Tables of a bike's file that give the three figures of a point."""

BY_THE_GRIP = ("handlebar.grip_length", "handlebar.grip_tilt", "handlebar.grip_sweep")
"""What places a grip's inner end where nobody taped it."""


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
    left_out = "clamp" if points.tube is not None else None
    named_points = (
        (name, CLIP if name == "clamp" and transfer.clip_on else words, _point(points, name))
        for name, words in FOUND_POINTS
        if name != left_out
    )
    there = [(name, words, at) for name, words, at in named_points if at is not None]
    rows = []
    for name, words, at in there:
        across = 2.0 * float(at.y)
        figures = (float(at.z), float(at.x), across)
        marks = (" A" if assumed else "" for assumed in _assumed(transfer, name))
        cells = [
            Cell((text(bare(value, MM), small(f"{inch}{mark}")),), FIGURE)
            for value, mark in zip(figures, marks, strict=True)
            for inch in (f" {inches(value)}" if value else "",)
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
        Paragraph(text(small(" ".join(filter(None, _below(transfer)))))),
    )


def _point(points: BikePoints, name: str) -> Vec | None:
    found: Vec | None = points.others.get(name) or getattr(points, name, None)
    return found


def _assumed(transfer: Transfer, name: str) -> tuple[bool, bool, bool]:
    """Whether a point's height, distance ahead and spacing rest on something assumed."""
    rows = transfer.surveyed.observations
    known = {one.key for one in rows if one.status == ASSUMED}
    if name == "grip_inner" and known & set(BY_THE_GRIP):
        return True, True, True
    high, ahead, across = (
        any(key.startswith(f"{table}.") and key.endswith((f".{name}", f"-{name}")) for key in known)
        for table in TABLES
    )
    return high, ahead, across


def _below(transfer: Transfer) -> tuple[str, ...]:
    """How the figures came about, and which tapes read otherwise by a millimetre or more."""
    told = dict(FOUND_POINTS)
    off = []
    for one in transfer.surveyed.observations:
        table, _, name = one.key.partition(".")
        moved = isfinite(one.residual) and one.status != ASSUMED and whole(one.residual)
        if moved and table in TABLES and name in told:
            words = {"heights": "above floor", "ahead": "ahead", "widths": "across"}[table]
            point = told[name].partition(",")[0] if name == "peg" else told[name]
            shown = bare(one.residual, MM) if one.residual < 0.0 else f"+{bare(one.residual, MM)}"
            off.append(f"{point.lower()} {words} {shown}")
    assumed = any(any(_assumed(transfer, name)) for name in told)
    return (
        "Fitted from all tapes.",
        f"Tapes read otherwise: {'; '.join(off)} mm." if off else "",
        "A assumed, not taped." if assumed else "",
        on_stand(transfer),
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
        from_grip += ", clicks ____"
        lines.append((f"{name.capitalize()} lever", f"{below}, {from_grip}"))
    rake = transfer.surveyed.rake
    status = {one.key: one.status for one in transfer.surveyed.observations}
    parts = (
        ("tilt", float(now.grip_tilt_deg), status.get("handlebar.grip_tilt") == ASSUMED),
        ("sweep", float(now.grip_sweep_deg), status.get("handlebar.grip_sweep") == ASSUMED),
    )
    shown = [f"{w} {figure(v, DEG)}{' (assumed)' if assumed else ''}" for w, v, assumed in parts]
    shown.append(f"rake {half_degrees(rake.value)}{' (assumed)' if rake.assumed else ''}")
    lines.append(("Grips, rake", ", ".join(shown)))
    return [
        Row((Cell((text(words),)), Cell((text(shown),), columns=3), Cell(kind=TICK)))
        for words, shown in lines
    ]
