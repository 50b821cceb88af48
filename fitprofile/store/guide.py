"""What to hold where: one sentence for each key of a file, for templates and editors."""

from __future__ import annotations

from collections.abc import Mapping

from fitprofile.model.bike import (
    Allows,
    Bike,
    Handlebar,
    Hoses,
    Lever,
    Levers,
    Obstacle,
    Stand,
    Steering,
)
from fitprofile.model.rider import Cockpit, Rider, RiderLimits

BODY_GUIDE: Mapping[str, str] = {
    "weight": "Light clothes, no boots.",
    "stature": "Barefoot, back to a wall, a book level on the head; floor to the mark.",
    "sitting_height": "On a hard flat stool against a wall, sitting tall; stool to top of head.",
    "span": "Arms stretched sideways along a wall; longest fingertip to longest fingertip.",
    "navel_height_sitting": "On a hard flat stool, sitting tall, breath relaxed; stool to the "
    "middle of the navel.",
    "acromial_height_sitting": "Sitting tall on the stool; stool to the bony outer tip of the "
    "shoulder.",
    "biacromial_breadth": "Bony outer tip of one shoulder to the other, straight, not over the "
    "chest.",
    "bideltoid_breadth": "Across both upper arms at their widest, arms hanging, walls or squares.",
    "shoulder_elbow_length": "Upper arm hanging, elbow square; tip of the shoulder to underside "
    "of the elbow.",
    "forearm_grip_length": "Elbow square, a rod in the fist; back of the elbow to the middle of "
    "the rod.",
    "forearm_hand_length": "Elbow square, hand flat; back of the elbow to the longest fingertip.",
    "hand_length": "Palm up, fingers straight; wrist crease to the longest fingertip.",
    "hand_breadth": "Across the knuckles of the four fingers.",
    "abdominal_depth_sitting": "Sitting, belly relaxed, back to a wall; wall to the belly's front.",
    "hip_breadth_sitting": "Sitting, knees together; across the hips at their widest.",
    "buttock_knee_length": "Sitting with the buttocks to a wall; wall to the front of the kneecap.",
    "knee_height_sitting": "Sitting, shin upright, barefoot; floor to the top of the knee.",
    "ankle_height": "Barefoot; floor to the tip of the outer ankle bone.",
    "inseam": "Barefoot, a book pulled up firmly between the legs; floor to the book.",
    "foot_length": "Barefoot, heel to a wall; wall to the longest toe.",
    "ball_of_foot_length": "Barefoot, heel to a wall; wall to the joint of the big toe.",
    "calf_circumference": "Round the calf at its thickest, standing.",
    "lower_thigh_circumference": "Round the thigh just above the kneecap, standing.",
    "sole": "How thick the sole of the riding boot is under the ball of the foot.",
}
"""Keys of ``[body]``."""

POINT_GUIDE: Mapping[str, str] = {
    "rear_axle": "middle of the rear axle",
    "front_axle": "middle of the front axle",
    "seat": "sit point: where the sitting bones rest with the foam pressed down; the mark left by "
    "a stiff 30 mm batten laid across the saddle and sat upon",
    "clamp": "middle of the bar in its clamps; on clip-ons where the bar meets the tube's axis",
    "tank": "highest point of the tank before the rider",
    "screen": "nearest edge of the screen",
    "fairing": "nearest edge of the fairing",
    "peg": "top of the foot peg, middle of the rubber",
    "grip_end": "middle of the grip at its outer end, without bar-end weights",
    "grip_inner": "middle of the grip at its inner end, flange not counted",
    "tube": "middle of the fork tube (clip-ons)",
    "brake_pedal": "top of the brake pedal where the boot presses",
    "gear_lever": "underside of the gear lever's rubber",
}
"""Points that a tape goes to, for ``[widths]``, ``[heights]``, ``[ahead]`` and ``[spans]``."""

TABLE_GUIDE: Mapping[str, str] = {
    "schema": "Version of this kind of file.",
    "body": "Body, measured barefoot (ISO 7250-1 landmarks). Only stature and navel height are "
    "needed; whatever else is measured makes the answer surer.",
    "cockpit": "One riding position that feels right, named by its use. Measure it on a bike that "
    "fits, all of it in one sitting; front wheel in a chock, somebody holding the bike.",
    "limits": "Bands inside which you are content.",
    "tolerances": "Your own tolerances where they are tighter than the shop's.",
    "shop_tolerances": "How far off the wish still counts as right, to either side.",
    "steering": "Steering.",
    "handlebar": "The bar as it is fitted.",
    "widths": "Across the bike, left to right.",
    "heights": "Above the floor, bike upright. A pair is taped once, or on both sides: "
    "{ left = ..., right = ... }. Where the tape went to the top of a grip, clamp or peg: "
    '{ value = ..., to = "top" }.',
    "ahead": "Ahead of the rear axle, along the floor: plumb line down, then tape.",
    "spans": 'Tape from point to point in space, named "one-other".',
    "stand": "Only where the bike was taped on a stand: axles above the floor on the stand.",
    "wheels": "Only where the bike was taped on a stand: axles above the floor on the wheels.",
    "levers": "Hand levers.",
    "hoses": "Spare length of each line at full lock, dry-fitted on packers.",
    "obstacle": "Anything a fist or a bar end may meet at full lock.",
    "allows": "What this bike allows, as bands of change; leave out what you do not know.",
    "spreads": "Standard deviation of one reading with the tape, alone and with a helper.",
}
"""Tables of the files."""

_NOTES = "Anything else worth remembering."
_TAPE = "Who held the tape."

CLASS_GUIDE: Mapping[type, Mapping[str, str]] = {
    Rider: {
        "name": "The rider's name as it is to be printed.",
        "sex": "Only steers the estimate of what was not measured; may be left out.",
        "tape": _TAPE,
        "notes": _NOTES,
    },
    Cockpit: {
        "bar_width": "Outer centre of the left grip to outer centre of the right one, without "
        "bar-end weights.",
        "navel_to_bar": "Skin (T-shirt) at the navel to the middle of a string between the grip "
        "ends; relaxed, feet on the pegs, bar straight, tape locked and then read.",
        "navel_to_grip_ends": "Two tapes from the navel to the grip ends, left and right, in "
        "place of navel_to_bar.",
        "lever_angle": "Slope below horizontal, seen from the side, of a straightedge laid over "
        "grip and lever blade, fingers in line with the forearm.",
        "forearm_angle": "Slope of the forearm below horizontal, from a side photo, in place of "
        "lever_angle.",
        "knee_angle": "Hip joint, knee, ankle, 180 is a straight leg; ball of the foot on the peg.",
        "lever_reach": "Front of the grip to the blade, where the first finger's last crease lies.",
        "foot": "What rests on the peg.",
        "grip_tilt": "Grip against the ground, outer end up positive; a phone on a rod.",
        "grip_sweep": "How far the grip points back, seen from above.",
        "lean": "Trunk forward from sitting erect, from a side photo.",
        "measured_on": "File name of the bike it was measured on; strongly advised.",
        "gear": "What was worn: boots, protector, gloves.",
        "notes": _NOTES,
    },
    RiderLimits: {
        "lean": "Least and most lean that is comfortable.",
        "knee_angle": "Tightest and most open knee that is comfortable.",
    },
    Bike: {
        "name": "The bike's name as it is to be printed.",
        "state": "How it stood while it was taped; upright, never on its side stand.",
        "tape": _TAPE,
        "date": "Day of the measuring, like 2026-05-17.",
        "mileage": "What the odometer showed.",
        "clip_turn": "Turn of the clip-ons asked for; positive carries the grip end rearward.",
        "notes": _NOTES,
    },
    Steering: {
        "rake": "Steering axis from vertical: the manual, or a phone on the fork tube.",
        "rake_read_on": "Where it was read; the manual's figure is on the wheels.",
        "lock": "Turn of the bar from straight to one lock.",
    },
    Handlebar: {
        "kind": "One bar in two clamps, or a clip-on on each fork tube.",
        "bar_diameter": "Bar under the levers, calliper.",
        "clamp_diameter": "Bar in its clamps, calliper.",
        "grip_diameter": "Grip over its rubber, calliper.",
        "grip_length": "Inner to outer end of the grip, flange not counted.",
        "grip_tilt": "Grip against the ground, outer end up positive; a phone on a rod.",
        "grip_sweep": "How far the grip points back, seen from above; a string over the bar.",
        "roll": "Band the bar may be rolled in from where it stands, top toward the rider "
        "positive.",
        "pins": "Whether the switch housings or the throttle are pinned to the bar.",
    },
    Lever: {
        "angle": "Slope below horizontal, seen from the side, of a straightedge laid over grip "
        "and lever blade; bar straight.",
        "reach": "Front of the grip to the blade, where the first finger's last crease lies.",
        "reach_range": "Least and most reach the adjuster gives.",
        "perch": "Whether the perch turns on the bar or a pin holds it.",
        "rotation": "Band the perch may turn in; positive lifts the blade.",
        "pin": "Diameter of the pin of a pinned perch.",
    },
    Levers: {
        "brake": "Front brake lever, right hand.",
        "clutch": "Clutch lever, left hand.",
    },
    Stand: {
        "rear_axle": "Middle of the rear axle above the floor.",
        "front_axle": "Middle of the front axle above the floor.",
        "pitch": "Nose-up angle of the bike, where no axle was taped.",
    },
    Hoses: {
        "front_brake": "Front brake hose.",
        "clutch": "Clutch hose or cable.",
        "throttle": "Throttle cable or wire.",
    },
    Obstacle: {
        "name": "What it is, in your words.",
        "height": "Above the floor.",
        "ahead": "Ahead of the rear axle.",
        "offset": "To the left of the middle of the bike; to the right is negative.",
    },
    Allows: {
        "bar_width": "Narrowest and widest bar that this bike takes.",
        "riser": "Band of change in height of the bar along the steering axis.",
        "pullback": "Band of change in distance toward the rider.",
        "clip_slide": "Band of change of the clip-ons along the fork tubes, up positive.",
        "clip_offset": "Band of change of the clip-ons toward the rider.",
        "peg_ahead": "Band of change of the pegs forward.",
        "peg_up": "Band of change of the pegs upward.",
        "seat": "Band of change of the seat upward.",
    },
}
"""Keys of the classes of the model."""
