"""Stage 8d: where a part from the catalogue puts the grips in the clamps of one bike.

Every function works on arrays of bikes and parts, mm and degrees; points are the left side's.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from attrs import evolve

from fitprofile.geometry.angles import from_opposite
from fitprofile.geometry.vectors import Floats, Real, Vec, dot, elevation, leftward_axis, norm
from fitprofile.model.parts import Bar, ClipOn
from fitprofile.stages import moves
from fitprofile.stages.survey import BikePoints


class BarShape(NamedTuple):
    """Left half of a bar against the middle of its clamped part, fields (...) float, mm, degrees.

    ``ahead``, ``out`` and ``up`` of the tube's end as drawn; ``tilt`` and ``sweep`` of the grip.
    """

    ahead: Real
    out: Real
    up: Real
    tilt: Real
    sweep: Real

    @property
    def axis(self) -> Vec:
        """Unit direction of the left grip, outward, as drawn."""
        return leftward_axis(np.radians(self.tilt), np.radians(self.sweep))


def drawn_bar(bar: Bar) -> BarShape:
    """Shape of a catalogue's bar, standing as drawn (roll 0)."""
    return BarShape(
        ahead=-bar.pullback.value,
        out=0.5 * bar.width.value,
        up=bar.rise.value,
        tilt=bar.upsweep.value,
        sweep=bar.backsweep.value,
    )


def with_bar(points: BikePoints, shape: BarShape) -> BikePoints:
    """The bike with another bar in its clamps, as drawn, grips flush with the tube's ends.

    The grips keep their length. Components broadcast over points and shape.
    """
    axis = shape.axis
    end = Vec(
        np.add(points.clamp.x, shape.ahead),
        shape.out + 0.0 * np.asarray(points.clamp.x),
        np.add(points.clamp.z, shape.up),
    )
    return evolve(points, grip_end=end, grip_inner=end.minus(axis.times(_grip_length(points))))


class ClipShape(NamedTuple):
    """Left clip-on in the frame of its fork tube, fields (...) float, mm and degrees.

    ``offset`` behind and ``drop`` below the place where the tube's axis has its ``tube`` point;
    ``droop`` (outer end down) against a square to the tube, ``sweep`` rearward, ``length`` from
    the tube's axis to the grip's outer end.
    """

    offset: Real
    drop: Real
    droop: Real
    sweep: Real
    length: Real


def clip_found(points: BikePoints, rake: Real) -> ClipShape | None:
    """Shape of the clip-on as taped; ``None`` where the fork tube was not taped."""
    if points.tube is None:
        return None
    up, back = moves.clamp_axes(rake)
    axis = moves.grip_axis(points)
    to_tube = np.subtract(points.grip_end.y, points.tube.y) / np.asarray(axis.y)
    root = points.grip_end.minus(axis.times(to_tube))
    from_tube = root.minus(points.tube)
    return ClipShape(
        offset=dot(from_tube, back),
        drop=-dot(from_tube, up),
        droop=np.degrees(from_opposite(-dot(axis, up), 1.0)),
        sweep=np.degrees(np.arctan2(dot(axis, back), axis.y)),
        length=to_tube,
    )


def drawn_clip(clip: ClipOn, found: ClipShape) -> ClipShape:
    """Shape of a catalogue's clip-on; what it does not say is as on the present one."""
    return ClipShape(
        offset=clip.offset.value,
        drop=clip.drop.value,
        droop=found.droop if clip.droop is None else clip.droop.value,
        sweep=found.sweep if clip.sweep is None else clip.sweep.value,
        length=found.length if clip.length is None else clip.length.value,
    )


def with_clip(points: BikePoints, shape: ClipShape, rake: Real) -> BikePoints:
    """The bike with other clip-ons at the same place of its fork tubes; grips flush with the ends.

    ``points.tube`` must be there.

    Raises
    ------
    ValueError
        Where it is not.
    """
    if points.tube is None:
        raise ValueError("clip-ons are placed from the fork tube, which was not taped")
    up, back = moves.clamp_axes(rake)
    droop, sweep = np.radians(shape.droop), np.radians(shape.sweep)
    flat = np.cos(droop)
    axis = (
        up.times(-np.sin(droop))
        .plus(back.times(flat * np.sin(sweep)))
        .plus(Vec(0.0, flat * np.cos(sweep), 0.0))
    )
    root = points.tube.plus(back.times(shape.offset)).plus(up.times(np.negative(shape.drop)))
    end = root.plus(axis.times(shape.length))
    inner = end.minus(axis.times(_grip_length(points)))
    return evolve(points, grip_end=end, grip_inner=inner)


def slide_to_width(points: BikePoints, width: Real) -> Floats:
    """Slide of each grip along its axis, outward positive, that gives a bar width, mm."""
    out = np.subtract(0.5 * np.asarray(width), points.grip_end.y)
    return np.asarray(out / np.asarray(moves.grip_axis(points).y))


def bar_as_drawn(points: BikePoints) -> BarShape:
    """The bar on the bike as the shape that `with_bar` would give back, mm and degrees."""
    from_clamp = points.grip_end.minus(points.clamp)
    axis = moves.grip_axis(points)
    return BarShape(
        ahead=from_clamp.x,
        out=from_clamp.y,
        up=from_clamp.z,
        tilt=np.degrees(elevation(axis)),
        sweep=np.degrees(np.arctan2(np.negative(axis.x), axis.y)),
    )


def _grip_length(points: BikePoints) -> Floats:
    """Length of the grip, mm."""
    return norm(points.grip_end.minus(points.grip_inner))
