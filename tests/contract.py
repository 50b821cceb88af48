"""Keys that ``transfer --json`` promises to scripts."""

from __future__ import annotations

TOP = (
    "rider",
    "bike",
    "use",
    "steering",
    "handlebar",
    "body",
    "points",
    "now",
    "target",
    "wish",
    "exact",
    "practical",
    "limits",
    "give_or_take",
    "problems",
)
BODY = (
    "hip_height_mm",
    "hip_spacing_mm",
    "navel_up_mm",
    "navel_forward_mm",
    "shoulder_up_mm",
    "shoulder_forward_mm",
    "shoulder_spacing_mm",
    "upper_arm_mm",
    "forearm_grip_mm",
    "thigh_mm",
    "shank_mm",
    "ankle_up_mm",
    "ankle_back_mm",
    "elbows_out_deg",
)
EXACT = (
    "bar_width_change_mm",
    "grip_slide_mm",
    "bar_roll_deg",
    "riser_height_mm",
    "riser_pullback_mm",
    "clip_turn_deg",
    "clip_slide_mm",
    "clip_offset_mm",
    "lever_rotation_deg",
    "lever_reach_change_mm",
    "peg_move_mm",
    "with_seat_raise",
)
NUMBERS = (
    "bar_width_mm",
    "navel_to_bar_mm",
    "grip_tilt_deg",
    "grip_sweep_deg",
    "forearm_angle_deg",
    "lever_angle_deg",
    "lever_reach_mm",
    "knee_angle_deg",
    "lean_deg",
    "elbow_angle_deg",
    "reachable",
)
