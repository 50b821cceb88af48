"""The cockpit triangle from above, large for a sheet and small for a garage.

Points, lines and dimensions only. As found is solid and filled, wished or done dashed and open.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fitprofile.report.drawing import (
    ACCENT,
    BAR_LENGTH,
    CHAIN,
    DASHES,
    GREY,
    INK,
    THICK,
    THIN,
    Spot,
    View,
    dimension,
    dot,
    extension,
    fitted,
    known,
    label,
    legend,
    line,
    ring,
    scale_bar,
    spot,
)
from fitprofile.report.page import Drawing, Shape, text, user
from fitprofile.report.wording import MM, figure
from fitprofile.stages import linkage, moves
from fitprofile.stages.outcome import Transfer
from fitprofile.stages.survey import BikePoints
from fitprofile.values import frozen

PLAN = (66.0, 62.0)
"""Width and height on paper, mm."""


@frozen
class Triangle:
    """A cockpit triangle: navel and the left grip's two ends, bike mm."""

    navel: Spot
    grip_end: Spot
    grip_inner: Spot

    @property
    def exists(self) -> bool:
        """Whether it can be drawn."""
        return known(*self.navel, *self.grip_end, *self.grip_inner)


def triangle_now(transfer: Transfer) -> Triangle:
    """As found, at the rider's own lean."""
    return _triangle(transfer, transfer.points, float(transfer.now.lean_deg))


def triangle_wished(transfer: Transfer) -> Triangle | None:
    """After the exact changes; ``None`` where no place of the bar gives the wish."""
    exact = transfer.exact
    if not known(float(exact.clip_slide_mm if transfer.clip_on else exact.riser_height_mm)):
        return None
    points = moves.done_to(transfer.points, exact, transfer.surveyed.rake.value)
    return _triangle(transfer, points, float(transfer.target.lean_deg))


def _triangle(transfer: Transfer, points: BikePoints, lean: float) -> Triangle:
    navel = linkage.navel(transfer.linkage, transfer.points.seat, lean)
    return Triangle(spot(navel), spot(points.grip_end), spot(points.grip_inner))


def plan(transfer: Transfer) -> Drawing:
    """The cockpit triangle from above, forward up the page, as found and wished."""
    now, wished = triangle_now(transfer), triangle_wished(transfer)
    drawn = [one for one in (now, wished) if one is not None and one.exists]
    half = max((one.grip_end.y for one in drawn), default=400.0)
    lows = [min(one.navel.x, one.grip_end.x) for one in drawn] or [0.0]
    highs = [max(one.grip_end.x, one.grip_inner.x) for one in drawn] or [500.0]
    width, height = PLAN
    inner = fitted((-half, min(lows)), (half, max(highs)), width - 8.0, height - 27.0)
    view = View(inner.scale, inner.left - 4.0 / inner.scale, inner.top + 14.0 / inner.scale)
    shapes: list[Shape] = []
    for one, wish in ((wished, True), (now, False)):
        if one is not None and one.exists:
            shapes += _outline(one, view, wished=wish)
    if now.exists:
        shapes += _plan_figures(transfer, now, wished, view)
    shapes += scale_bar((2.0, height - 1.2), BAR_LENGTH, view.scale)
    shapes += legend(width, height - 1.2, "wished")
    return Drawing(
        width=width,
        height=height,
        shapes=tuple(shapes),
        alt=_plan_words(transfer, wished=wished is not None),
        caption=text(
            "From above, forward up. Navel-to-bar is taped in space, so this view shortens it."
        ),
        kind="plan",
    )


def _outline(one: Triangle, view: View, *, wished: bool, pen: float = 1.0) -> Iterator[Shape]:
    """Bar, navel and grips from above; ``pen`` makes points and grips finer."""
    stroke, dashes = (ACCENT, DASHES) if wished else (INK, "")
    ends = [view.at(side * one.grip_end.y, one.grip_end.x) for side in (-1.0, 1.0)]
    inner = [view.at(side * one.grip_inner.y, one.grip_inner.x) for side in (-1.0, 1.0)]
    navel, bar = view.at(0.0, one.navel.x), view.at(0.0, one.grip_end.x)
    yield line(ends[0], ends[1], stroke=stroke, dashes=dashes)
    for end, start in zip(ends, inner, strict=True):
        yield line(navel, end, stroke=stroke, dashes=dashes)
        yield line(start, end, stroke=stroke, dashes=dashes, width=2.0 * THICK * pen)
    yield line(navel, bar, stroke=stroke, dashes=CHAIN, width=THIN)
    for at in (*ends, navel, bar):
        yield ring(at, 0.9 * pen) if wished else dot(at, 0.8 * pen)


def _plan_figures(
    transfer: Transfer, now: Triangle, wished: Triangle | None, view: View
) -> Iterator[Shape]:
    """Bar widths above the grips, navel-to-bar beside its line."""
    rows = [(now, transfer.now, INK, "")]
    if wished is not None:
        rows.append((wished, transfer.target, ACCENT, DASHES))
    top = min(view.at(0.0, max(one.grip_end.x, one.grip_inner.x))[1] for one, *_ in rows)
    for place, (one, numbers, stroke, dashes) in enumerate(rows):
        height = top - 4.0 - 5.0 * place
        ends = [view.at(side * one.grip_end.y, one.grip_end.x) for side in (-1.0, 1.0)]
        for end in ends:
            yield extension(end, (end[0], height - 1.0))
        words = figure(float(numbers.bar_width_mm), MM)
        yield from dimension(
            (ends[0][0], height), (ends[1][0], height), words, stroke=stroke, dashes=dashes
        )
        navel, bar = view.at(0.0, one.navel.x), view.at(0.0, one.grip_end.x)
        side = -1.0 if place == 0 else 1.0
        at = (navel[0] + side * 1.6, (navel[1] + bar[1]) / 2.0 - 1.0)
        yield from label(
            figure(float(numbers.navel_to_bar_mm), MM),
            at,
            anchor="end" if place == 0 else "start",
            fill=stroke,
        )
    x, y = view.at(0.0, now.navel.x)
    yield from label("navel", (x, y + 4.2), size=2.4, fill=GREY)


def _plan_words(transfer: Transfer, *, wished: bool) -> str:
    now, target = transfer.now, transfer.target
    found = (
        "Cockpit triangle from above. As found: bar width "
        f"{figure(float(now.bar_width_mm), MM)}, navel-to-bar "
        f"{figure(float(now.navel_to_bar_mm), MM)}. "
    )
    if not wished:
        return f"{found}No place of the bar gives the wish, so only the bike as found is drawn."
    return (
        f"{found}Wished: {figure(float(target.bar_width_mm), MM)} and "
        f"{figure(float(target.navel_to_bar_mm), MM)}."
    )


SMALL = (34.0, 34.0)
"""Width and greatest height on paper of one triangle among many, mm."""

BELOW = 6.0
"""mm on paper between navel and lower edge of a small triangle: room for the scale bar."""


def triangles(transfers: Sequence[Transfer]) -> tuple[Drawing, ...]:
    """Small cockpit triangles from above, all on one scale with the navel in one place."""
    pairs = [(one, triangle_now(one), triangle_wished(one)) for one in transfers]
    drawn = [t for _, *both in pairs for t in both if t is not None and t.exists]
    if not drawn:
        return ()
    half = max(one.grip_end.y for one in drawn)
    ahead = max(max(one.grip_end.x, one.grip_inner.x) - one.navel.x for one in drawn)
    width, height = SMALL
    scale = fitted((-half, 0.0), (half, ahead), width - 4.0, height - BELOW - 3.0).scale
    tall = ahead * scale + BELOW + 3.0
    return tuple(
        _small(transfer, [t for t in both if t is not None and t.exists], scale, tall)
        for transfer, *both in pairs
    )


def _small(transfer: Transfer, drawn: Sequence[Triangle], scale: float, height: float) -> Drawing:
    """One triangle with its wish; ``drawn`` begins with the bike as found."""
    width = SMALL[0]
    shapes: list[Shape] = []
    for place, one in reversed(list(enumerate(drawn))):
        view = View(scale, -0.5 * width / scale, one.navel.x + (height - BELOW) / scale)
        shapes += _outline(one, view, wished=place > 0, pen=0.6)
    shapes += scale_bar((1.0, height - 1.0), BAR_LENGTH, scale)
    return Drawing(
        width=width,
        height=height,
        shapes=tuple(shapes),
        alt=f"{transfer.bike.name}. {_plan_words(transfer, wished=len(drawn) > 1)}",
        caption=text(user(transfer.bike.name)),
        kind="small",
    )
