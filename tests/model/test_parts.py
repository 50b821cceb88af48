"""Parts: kinds, defaults, and when two diameters are one size."""

from __future__ import annotations

import pytest
from attrs import fields
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.model.bike import PART_KINDS, Fitted
from fitprofile.model.parts import PARTS, Catalogue, Labour, PegPlate, Riser, Seat, same_size
from fitprofile.model.quantity import Reading


def test_every_kind_has_its_class_its_list_and_its_place_on_a_bike() -> None:
    """Kinds are written the same in catalogue, ``keep`` and ``[fitted]``."""
    assert tuple(PARTS) == PART_KINDS
    assert tuple(field.name for field in fields(Fitted)) == PART_KINDS
    assert {f"{kind}s" for kind in PARTS} <= {field.name for field in fields(Catalogue)}


@pytest.mark.parametrize("kind", PARTS)
def test_every_part_has_name_price_minutes_and_bikes(kind: str) -> None:
    """And costs nothing and fits any bike unless said."""
    found = {field.name: field.default for field in fields(PARTS[kind])}
    assert found["price"] == found["minutes"] == Reading(0.0)
    assert found["fits"] == ()
    assert "name" in found


def test_parts_come_by_their_kind() -> None:
    """`Catalogue.of` is the list of one kind; a fresh catalogue has none."""
    riser = Riser(name="a", height=Reading(20.0))
    seat = Seat(name="b", z=Reading(20.0))
    ours = Catalogue(risers=(riser,), seats=(seat,))
    assert ours.of("riser") == (riser,)
    assert ours.of("seat") == (seat,)
    assert all(Catalogue().of(kind) == () for kind in PARTS)


def test_free_adjustments_take_minutes() -> None:
    """Each has a guess to start from, above zero."""
    assert all(getattr(Labour(), field.name).value > 0.0 for field in fields(Labour))


def test_minutes_that_no_shop_wrote_are_known_to_be_guessed() -> None:
    """Until the last of them is written."""
    own = {field.name: Reading(12.0) for field in fields(Labour)}
    assert not Labour(**own).guessed
    for name in own:
        assert Labour(**{key: value for key, value in own.items() if key != name}).guessed


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        (22.2, 22.225, True),  # 7/8 in, as it is rounded
        (25.4, 25.0, False),
        (28.6, 28.575, True),  # 1 1/8 in
        (31.75, 32.0, True),  # 1 1/4 in
        (31.8, 32.2, False),
        (22.2, 28.6, False),
    ],
)
def test_sizes_that_are_sold(one: float, other: float, *, same: bool) -> None:
    """Inch and metric names of one size agree, neighbours among sizes do not."""
    assert same_size(Reading(one), Reading(other)) is same


@given(st.floats(10.0, 60.0), st.floats(10.0, 60.0))
def test_size_does_not_hang_on_the_order(one: float, other: float) -> None:
    """A bar fits a clamp exactly where the clamp fits the bar, and itself."""
    assert same_size(Reading(one), Reading(other)) == same_size(Reading(other), Reading(one))
    assert same_size(Reading(one), Reading(one))


def test_parts_are_values() -> None:
    """Equal where all figures are, of one kind; to be used in sets; showing what they hold."""
    plate = PegPlate(name="a", x=Reading(0.0), z=Reading(1.0))
    seat = Seat(name="a", x=Reading(0.0), z=Reading(1.0))
    assert plate == PegPlate(name="a", x=Reading(0.0), z=Reading(1.0))
    assert plate != PegPlate(name="a", x=Reading(0.0), z=Reading(2.0))
    others: tuple[object, ...] = (seat, "a")
    assert all(plate != other for other in others)
    assert len({plate, seat, PegPlate(name="a", x=Reading(0.0), z=Reading(1.0))}) == 2
    shown = repr(Seat(name="High seat", z=Reading(20.0)))
    assert shown.startswith("Seat(name='High seat', z=Reading(value=20.0, ")
    assert shown.endswith(", fits=())")
