"""The best of groups whose figures add up, against every combination written out."""

from __future__ import annotations

from itertools import product

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.stages.bar_nearest import STEP
from fitprofile.stages.choosing import KEYS, SAME, Group, Table, best_inside, nearest
from fitprofile.stages.plan import CHEAPEST, CLOSEST, QUICKEST

FIELDS = ("far", "price", "minutes", "undo", "pieces", "leaned")
FIGURE = st.integers(0, 3)


@st.composite
def groups(draw: st.DrawFn, far: bool = True) -> Group:
    """Up to five candidates with small whole figures, so that many tie; scores in 0.03."""
    count = draw(st.integers(1, 5))
    figures = {
        name: np.array(draw(st.lists(FIGURE, min_size=count, max_size=count)), dtype=float)
        for name in FIELDS
    }
    figures["far"] = figures["far"] * (0.03 if far else 0.0)
    inside = np.array(draw(st.lists(st.booleans(), min_size=count, max_size=count)))
    return Group(inside=inside, **figures)


@st.composite
def shelves(draw: st.DrawFn) -> list[Table]:
    """Two or three seats, each with its own bars and pegs."""
    seats, levers = draw(groups(far=False)), draw(groups())
    return [
        Table((draw(groups()), draw(groups()), levers), seats, index)
        for index in range(len(seats.far))
    ]


def every(table: Table, *, fits: bool) -> list[tuple[dict[str, float], tuple[int, ...]]]:
    """Sums of every combination, and its indices."""
    found = []
    for which in product(*(range(len(one.far)) for one in table.groups)):
        pairs = list(zip(table.groups, which, strict=True))
        if fits and not all(one.inside[index] for one, index in pairs):
            continue
        sums = {
            name: float(getattr(table.seats, name)[table.seat])
            + sum(float(getattr(one, name)[index]) for one, index in pairs)
            for name in FIELDS
        }
        found.append((sums, which))
    return found


@given(tables=shelves(), fits=st.booleans())
def test_the_nearest_is_the_cheapest_of_those_within_a_step_of_the_least(
    tables: list[Table], fits: bool
) -> None:
    found = nearest(tables, fits=fits)
    sums = [one for table in tables for one, _ in every(table, fits=fits)]
    if not sums:
        assert found is None
        return
    least = min(one["far"] for one in sums)
    near = [one for one in sums if one["far"] <= least + STEP + SAME]
    best = min(tuple(round(one[key], 9) for key in KEYS[CLOSEST]) for one in near)
    assert found is not None
    order, number = found
    assert order.figures == best
    assert order.seat == tables[number].seat
    chosen = {which: one for one, which in every(tables[number], fits=fits)}[order.which]
    assert tuple(round(chosen[key], 9) for key in KEYS[CLOSEST]) == best


@given(tables=shelves(), name=st.sampled_from([CHEAPEST, QUICKEST]))
def test_the_cheapest_and_the_quickest_are_inside_and_first_by_their_keys(
    tables: list[Table], name: str
) -> None:
    found = best_inside(name, tables)
    figures = [
        tuple(round(one[key], 9) for key in KEYS[name])
        for table in tables
        for one, _ in every(table, fits=True)
    ]
    assert (found is None) == (not figures)
    if found is not None:
        assert found[0].figures == min(figures)


@given(tables=shelves(), more=groups(), fits=st.booleans())
def test_more_candidates_never_raise_the_least_nor_move_the_choice_beyond_a_step_of_it(
    tables: list[Table], more: Group, fits: bool
) -> None:
    """What was chosen may be given up for something cheaper, by no more than a step."""
    many = []
    for table in tables:
        pairs = ((getattr(table.groups[0], name), getattr(more, name)) for name in Group._fields)
        bars = Group(*(np.concatenate(pair) for pair in pairs))
        many.append(table._replace(groups=(bars, *table.groups[1:])))
    least = [min(one.least(fits=fits) for one in some) for some in (tables, many)]
    assert least[1] <= least[0] + SAME
    few, now = (nearest(some, fits=fits) for some in (tables, many))
    if few is not None:
        assert now is not None
        assert now[0].figures[-1] <= few[0].figures[-1] + STEP + SAME
