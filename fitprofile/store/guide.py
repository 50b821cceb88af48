"""What to hold where: one sentence for each key of a file, for templates and editors."""

from __future__ import annotations

from collections.abc import Mapping

from fitprofile.model.bike import (
    Allows,
    Bike,
    Fitted,
    Handlebar,
    Hose,
    Hoses,
    Lever,
    Levers,
    Obstacle,
    Stand,
    Steering,
    Straddle,
)
from fitprofile.model.parts import (
    Bar,
    ClipOn,
    Extender,
    Labour,
    LeverSet,
    PegPlate,
    Riser,
    Seat,
)
from fitprofile.model.rider import Cockpit, Rider, RiderLimits, Standing

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
    "standing": "One way of standing on the pegs that feels right, as on the trail: no seat, arch "
    "of the foot on the peg, a name of its own. Balance is the test: the hands let go without "
    "falling.",
    "limits": "Bands inside which you are content.",
    "tolerances": "Your own tolerances where they are tighter than the shop's.",
    "shop_tolerances": "How far off the wish still counts as right, to either side.",
    "steering": "Steering.",
    "handlebar": "The bar as it is fitted.",
    "widths": "Across the bike, left to right.",
    "heights": "Above the floor, bike upright. A pair is taped once, or on both sides: "
    "{ left = ..., right = ... }. Where the tape went to the top of a grip or of the bar in its "
    'clamp: { value = ..., to = "top" }, and the radius is taken off. A peg is its top already.',
    "ahead": "Ahead of the rear axle, along the floor: plumb line down, then tape.",
    "spans": 'Tape from point to point in space, named "one-other".',
    "stand": "Only where the bike was taped on a stand: axles above the floor on the stand.",
    "wheels": "Only where the bike was taped on a stand: the same axles above the floor with both "
    "wheels on it; all figures are turned back to that.",
    "levers": "Hand levers.",
    "hoses": "Lines from the bar: what is left of each at full lock, and where its other end is "
    'held. Where only the spare length is known, a figure is enough: front_brake = "18 mm" '
    "under [hoses].",
    "obstacle": "Anything a fist or a bar end may meet at full lock.",
    "allows": "What this bike allows, as bands of change; leave out what you do not know.",
    "fitted": "Parts of shared/parts.toml that are on the bike already, by their names; leave out "
    "what is as the maker built it.",
    "straddle": "For both feet on the ground at a stop.",
    "labour": "Minutes that adjustments without a part take.",
    "riser": "A block under the bar clamp, against the bike without any.",
    "bar": "A one-piece bar, by the figures of its drawing, lying as drawn.",
    "extender": "A pair of pieces that make each end of the bar longer.",
    "clip_on": "A pair of clip-ons.",
    "peg_plate": "A pair of plates that carry the foot pegs elsewhere than the maker did.",
    "seat": "A seat, against the maker's own.",
    "lever_set": "A lever, or a pair, with another reach.",
    "spreads": "Standard deviation of one reading, half its give or take; alone and with a helper.",
}
"""Tables of the files."""

PLACE_GUIDE = (
    "Where the bikes are ridden. With it, bar height and width are held against dated examples of "
    "law; without it no law is looked at. Always check the law where you ride."
)
CURRENCY_GUIDE = "What prices are in; printed behind every price."

_NOTES = "Anything else worth remembering."
_TAPE = "Who held the tape."

_PART: Mapping[str, str] = {
    "name": "What plans and lists call it; no two parts share a name.",
    "price": "In the currency above, for all that is needed.",
    "minutes": "To fit it, one mechanic.",
    "fits": "File names of the bikes it is made for; leave out where any bike takes it.",
}
"""Keys of every part."""

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
        "grip and lever blade, fingers in line with the forearm. Where the arms differ, as with an "
        "injured shoulder: { left = ..., right = ... }.",
        "forearm_angle": "Slope of the forearm below horizontal, from a side photo, in place of "
        "lever_angle; left and right likewise.",
        "knee_angle": "Hip joint, knee, ankle, 180 is a straight leg; ball of the foot on the peg. "
        "Where left and right differ: { left = ..., right = ... }.",
        "lever_reach": "Front of the grip to the blade, where the first finger's last crease lies. "
        "Where the hands differ: { left = ..., right = ... }.",
        "foot": "What rests on the peg.",
        "grip_tilt": "Grip against the ground, outer end up positive; a phone on a rod.",
        "grip_sweep": "How far the grip points back, seen from above.",
        "lean": "Trunk forward from sitting erect, from a side photo.",
        "measured_on": "File name of the bike it was measured on; strongly advised.",
        "gear": "What was worn: boots, protector, gloves.",
        "notes": _NOTES,
    },
    Standing: {
        "grip_above_peg": "Top of the peg to the middle of a string between the grip ends, "
        "straight up.",
        "grip_ahead_of_peg": "The same, along the floor, forward positive.",
        "bar_width": "Where standing asks for another bar width than sitting.",
        "hip_to_grip": "Hip joint (the bony knob at the side) to the middle of the string.",
        "lever_angle": "Slope below horizontal of a straightedge over grip and lever blade, "
        "fingers in line with the standing forearm. Where the arms differ: "
        "{ left = ..., right = ... }.",
        "lean": "Trunk forward from upright, from a side photo.",
        "brake_pedal": "Top of the brake pedal above the top of the peg; lower is negative.",
        "gear_lever": "Underside of the gear lever's rubber above the top of the peg.",
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
        "clip_turn": "Only for clip-ons: turn asked for; positive carries the grip end rearward.",
        "notes": _NOTES,
    },
    Steering: {
        "rake": "Steering axis from vertical: the manual, or a phone on the fork tube.",
        "rake_read_on": "Where it was read; the manual's figure is on the wheels.",
        "lock": "Turn of the bar from straight to one lock.",
        "fork_extension": "How far the fork still comes out from where it stood while the bike "
        "was taped; front wheel lifted.",
        "fork_compression": "How far it still goes in from there; travel less what is used.",
    },
    Handlebar: {
        "kind": "One bar in two clamps, or a clip-on on each fork tube.",
        "bar_diameter": "Bar under the levers, calliper.",
        "clamp_diameter": "Bar in its clamps, calliper.",
        "tube_diameter": "Fork tube where a clip-on holds it, calliper.",
        "grip_diameter": "Grip over its rubber, calliper.",
        "grip_length": "Inner to outer end of the grip, flange not counted.",
        "grip_tilt": "Grip against the ground, outer end up positive; a phone on a rod.",
        "grip_sweep": "How far the grip points back, seen from above; a string over the bar.",
        "roll": "Band the bar may be rolled in from where it stands, top toward the rider "
        "positive. Left out: plans keep to 8 degrees either way.",
        "overall_width": "Widest place of bar, bar-end weights and mirrors.",
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
        "cap_limit": "How far the fluid reservoir may tip from how it stands now.",
        "pull": "How far the blade comes back at full pull, where the finger lies.",
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
        "wiring": "Wiring of the switches.",
    },
    Hose: {
        "spare": "What is left of it at full lock, dry-fitted on packers; too short is negative.",
        "height": "Its first holding point away from the bar, above the floor.",
        "ahead": "The same point, ahead of the rear axle.",
        "offset": "The same point, to the left of the middle of the bike; right is negative.",
        "held_by": "What it is held by there: frame, the yokes that turn with the bar, or the "
        "lower part of the fork.",
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
        "keep": "Kinds of part that stay as they are.",
    },
    Fitted: {
        "riser": "Riser that is fitted.",
        "bar": "Bar that is fitted.",
        "extender": "Bar extenders that are fitted.",
        "clip_on": "Clip-ons that are fitted.",
        "peg_plate": "Peg plates that are fitted.",
        "seat": "Seat that is fitted.",
        "lever_set": "Levers that are fitted.",
    },
    Straddle: {
        "seat_width": "Seat across where the thighs lie when both feet go down.",
        "sag": "How far the sit point sinks with the rider on, against how it was taped.",
    },
    Labour: {
        "roll": "Rolling the bar in its clamps.",
        "slide": "Shifting grips and controls along the bar.",
        "clip_slide": "Sliding both clip-ons along the fork tubes.",
        "perch": "Turning one lever's perch on the bar.",
        "pedal": "Setting one pedal's height.",
        "reach": "Setting one lever's adjuster.",
    },
    Riser: {
        **_PART,
        "height": "Up along the steering axis.",
        "pullback": "Square to that, toward the rider.",
        "clamp_diameter": "Of the bar it takes; leave out where it takes the bike's own.",
    },
    Bar: {
        **_PART,
        "width": "End to end.",
        "rise": "Ends above the middle of the clamped part.",
        "pullback": "Ends behind the middle of the clamped part.",
        "backsweep": "How far the grips point back, seen from above.",
        "upsweep": "How far the grips point up, outer end up positive.",
        "clamp_diameter": "In the clamps.",
        "bar_diameter": "Under levers and switches; leave out where it is as the bike's own.",
    },
    Extender: {
        **_PART,
        "length": "What it adds at each end.",
        "bar_diameter": "Of the bar it goes on; leave out where it goes on any.",
    },
    ClipOn: {
        **_PART,
        "offset": "How far the bar's axis passes behind that of the fork tube; ahead is negative.",
        "drop": "How far the bar leaves below the middle of its clamp, along the tube; above is "
        "negative.",
        "droop": "Outer end down, against a square to the fork tube and not against the ground: a "
        "bar swept 24 degrees that lies level has about -9 here. Leave out where it is as on the "
        "present ones.",
        "sweep": "How far the bar points back, seen along the tube; leave out as before.",
        "length": "Fork tube's axis to the end of the bar; leave out as before.",
        "tube_diameter": "Fork tube it clamps; leave out where it is the bike's own.",
        "bar_diameter": "Under levers and switches; leave out where it is as the bike's own.",
    },
    PegPlate: {
        **_PART,
        "x": "Pegs forward.",
        "z": "Pegs up; lower is negative.",
    },
    Seat: {
        **_PART,
        "z": "Sit point up; lower is negative.",
        "x": "Sit point forward.",
    },
    LeverSet: {
        **_PART,
        "reach_range": "Least and most reach the adjuster gives.",
        "side": "Which lever it is for.",
    },
}
"""Keys of the classes of the model."""
