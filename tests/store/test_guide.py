"""Every key of the files is explained, and nothing else is."""

from __future__ import annotations

from attrs import fields, resolve_types

from fitprofile.model.bike import MID_POINTS, PAIR_POINTS, Bike, Hose
from fitprofile.model.parts import PARTS, Catalogue
from fitprofile.model.quantity import Reading
from fitprofile.model.rider import BODY, Cockpit, Rider, Standing
from fitprofile.store.guide import BODY_GUIDE, CLASS_GUIDE, POINT_GUIDE, TABLE_GUIDE
from fitprofile.store.structure import nested_class

FILLED_IN = {"key", "file", "cockpits", "obstacles"}
"""Fields that have no key of this name in a file."""


def test_every_field_is_explained() -> None:
    """Each field has its sentence or is a table that has one."""
    for cls, guide in CLASS_GUIDE.items():
        names = {field.name for field in fields(cls)}
        assert names - FILLED_IN - guide.keys() <= TABLE_GUIDE.keys()
        assert guide.keys() <= names


def test_every_class_of_the_files_is_explained() -> None:
    """No table inside a rider or a bike was forgotten."""
    assert {Cockpit, Standing, Hose, *PARTS.values()} <= CLASS_GUIDE.keys()
    assert TABLE_GUIDE.keys() >= PARTS.keys()
    for cls in (Rider, Bike, Catalogue):
        nested = {
            kind
            for field in fields(resolve_types(cls))
            if (kind := nested_class(field.type)) is not None
        }
        assert nested - {Reading} <= CLASS_GUIDE.keys()


def test_landmarks_and_points() -> None:
    """The lists of the model and of the guide are the same."""
    assert BODY_GUIDE.keys() == BODY.keys()
    assert POINT_GUIDE.keys() == set(MID_POINTS + PAIR_POINTS)


def test_sentences_are_sentences() -> None:
    """Each begins with a capital letter or a band and ends with a full stop."""
    for guide in (BODY_GUIDE, TABLE_GUIDE, *CLASS_GUIDE.values()):
        for text in guide.values():
            assert text.endswith(".")
            assert text[0].isupper()
