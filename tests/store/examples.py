"""Files of invented riders and bikes, right and wrong, that the tests of the store share."""

from __future__ import annotations

from pathlib import Path

from hypothesis import strategies as st

from fitprofile.store.workspace import Workspace

RIDER = """\
#:schema ../shared/schema/rider.json
schema = 1
name = "Ida Invented"
tape = "helper"
notes = '''
two
lines'''

[body]
sex = "female"
stature = "168 cm"
navel_height_sitting = ["21.5 cm", "21.7 cm"]
weight = "140 lb"

[cockpit.road]
bar_width = "31 1/2 in"
navel_to_bar = { value = "51.5 cm", give_or_take = "8 mm", how = "tape" }
lever_angle = 14
knee_angle = [88, 90]
lever_reach = "58 mm"
foot = "ball"
lean = 12
measured_on = "heron"

[cockpit.track]
bar_width = 760
lever_reach = { left = 58, right = "60 mm" }
navel_to_grip_ends = [
    "64 cm",
    ["64.4 cm", "64.2 cm"],
]
forearm_angle = "18°"
knee_angle = 84

[standing.trail]
grip_above_peg = ["99 cm", "99.6 cm"]
grip_ahead_of_peg = 320
hip_to_grip = "52 cm"
lever_angle = 32
lean = 30
brake_pedal = -20
measured_on = "heron.toml"

[limits]
lean = [5, 25]

[tolerances]
bar_width = 5
"""

BIKE = """\
#:schema ../shared/schema/bike.json
schema = 1
name = "Heron (invented)"
state = "wheels"
tape = "alone"
date = 2026-05-17
mileage = 12400
clip_turn = 0

[steering]
rake = 25.5
rake_read_on = "wheels"
fork_extension = 20
fork_compression = "9 cm"

[handlebar]
kind = "one-piece"
grip_diameter = "33 mm"
roll = [-8, 8]
pins = true
tube_diameter = 41
overall_width = 860

[widths]
grip_end = "80 cm"
peg = 480

[heights]
seat = { value = "81 cm", give_or_take = "1 cm" }
peg = { left = 310, right = "31.2 cm" }
grip_end = { value = 1050, to = "top" }
clamp = [1010, 1012]

[ahead]
peg = 560

[spans]
"seat-peg" = "512 mm"
"peg-grip_end" = { value = 820, to = "top" }

[stand]
rear_axle = 380

[levers.brake]
angle = [12, 13, 12]
reach_range = [55, 90]
perch = "pinned"
rotation = [-12, 12]
pin = 4
cap_limit = 15
pull = 40

[levers.clutch]

[hoses]
front_brake = 30
throttle = { value = 25, give_or_take = 4 }
wiring = { height = 900, ahead = 950, offset = -40, held_by = "yoke" }

[[obstacle]]
name = "mirror stem"
height = 1000
ahead = 1000
offset = -100

[[obstacle]]
name = "screen edge"
height = 1100
ahead = 900
offset = 0

[allows]
bar_width = [700, 820]
keep = ["seat", "peg_plate"]

[fitted]
riser = "Riser 20"

[straddle]
seat_width = "24 cm"
sag = 25
"""

SHOP = """\
#:schema schema/tolerances.json
schema = 1
place = "somewhere"

[tolerances]
bar_width = "1 cm"

[spreads.alone]
rake = 1.2

[spreads.helper]
weight = 1
"""

PARTS = """\
#:schema schema/parts.json
schema = 1
currency = "EUR"

[labour]
roll = 12

[[riser]]
name = "Riser 20"
height = "20 mm"
pullback = "1/2 in"
clamp_diameter = 28.6
price = 45.5
minutes = 30
fits = ["heron"]

[[riser]]
name = "Riser 30"
height = { value = 30, give_or_take = 1 }

[[bar]]
name = "Bar 780"
width = 780
rise = 60
pullback = 90
backsweep = 18
upsweep = 2
clamp_diameter = "28.6 mm"
bar_diameter = "7/8 in"
price = 90

[[extender]]
name = "Ends 15"
length = 15
bar_diameter = 22.2

[[peg_plate]]
name = "Plates"
x = -10
z = -20

[[seat]]
name = "High seat"
z = 25
minutes = 10

[[lever_set]]
name = "Short levers"
reach_range = [45, 75]
side = "brake"
"""

ALL_PARTS = f"""\
{PARTS}
[[clip_on]]
name = "Clip-ons"
offset = 28
drop = -20
droop = 8
sweep = 24
length = 240
tube_diameter = 41
"""
"""The same with clip-ons, which the one bike of `workspace` cannot take."""


def workspace(
    root: Path,
    *,
    rider: str | bytes = RIDER,
    bike: str | bytes = BIKE,
    shop: str | bytes = SHOP,
    parts: str | bytes = PARTS,
) -> Workspace:
    """A workspace of one rider, ``ida``, one bike, ``heron``, a shop's file and a catalogue."""
    for name, content in (
        ("shared/parts.toml", parts),
        ("profiles/ida.toml", rider),
        ("bikes/heron.toml", bike),
        ("shared/tolerances.toml", shop),
    ):
        path = root / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(content.encode() if isinstance(content, str) else content)
    return Workspace(root)


def line_of(text: str, start: str) -> int:
    """Number, from 1, of the first line that begins like this."""
    return next(n for n, line in enumerate(text.split("\n"), 1) if line.startswith(start))


_VALUES = st.sampled_from(
    ["true", '""', '"860"', '"82 kg"', "nan", "-inf", "-820", "20000", "{}", "[]", "[[]]", "''",
     "1e400", "1979-05-27", "07:32:00", '"\\u0007"', "{ value = 3 }", "[1, 2, 3]", "0x1F",
     "{ left = 1 }", '"<b>"', '"../x"', "9" * 5000, "[" * 500]
)  # fmt: skip
_LINES = st.sampled_from(
    ["[body]", "[[obstacle]]", "[[riser]]", "[riser]", "[labour]",
     "[obstacle]", "[cockpit]", "schema = 9", "a.b.c = 1", '"" = 1',
     '"a.b" = 1', "spans.seat-peg = 4", "[levers.brake.angle]", "]", '"""', "key", "= 3", "\x00",
     '"\\u202e" = 1', "x = 1", "[limits.lean]", "name = 'twice'"]
)  # fmt: skip


@st.composite
def mutations(draw: st.DrawFn, text: str) -> bytes:
    """A file with one to four things changed: lines lost, doubled, put in; values and bytes."""
    lines = text.split("\n")
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(lines) - 1))
        kind = draw(st.sampled_from(["lose", "double", "insert", "value", "key", "cut"]))
        if kind == "lose":
            lines[at : at + 1] = [""]
        elif kind == "double":
            lines.insert(at, lines[at])
        elif kind == "insert":
            lines.insert(at, draw(_LINES))
        elif kind == "value":
            lines[at] = f"{lines[at].partition('=')[0]}= {draw(_VALUES)}"
        elif kind == "key":
            lines[at] = draw(st.text("abz_. '\"-é\t", max_size=6)) + lines[at]
        else:
            lines[at] = lines[at][: draw(st.integers(0, len(lines[at])))]
    content = "\n".join(lines).encode()
    if draw(st.booleans()):
        at = draw(st.integers(0, len(content)))
        content = content[:at] + draw(st.binary(max_size=3)) + content[at:]
    return content
