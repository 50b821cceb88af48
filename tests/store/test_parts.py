"""The catalogue's file: what comes out, and what is said about mistakes."""

from __future__ import annotations

import pytest
import tomli_w
from attrs import evolve, fields
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.model.parts import (
    PARTS,
    Bar,
    Catalogue,
    Extender,
    Labour,
    LeverSet,
    Part,
    PegPlate,
    Riser,
    Seat,
)
from fitprofile.model.quantity import Reading
from fitprofile.store.parts import read_catalogue
from fitprofile.store.toml import Document, parse_document
from fitprofile.units import MM_PER_INCH
from tests.store.examples import ALL_PARTS as TEXT
from tests.store.examples import line_of
from tests.strategies import catalogues


def document(text: str) -> Document:
    """A catalogue's file that is TOML."""
    made, problems = parse_document(text.encode(), "shared/parts.toml")
    assert made is not None, problems
    return made


def catalogue(text: str = TEXT) -> Catalogue:
    """The catalogue of a right file."""
    made, found = read_catalogue(document(text))
    assert (found, made.left_out, made.remark) == ((), (), "")
    return made


def mistakes(text: str) -> dict[str, str]:
    """What is said about a catalogue's file, by dotted path."""
    _, found = read_catalogue(document(text))
    return {".".join(map(str, path)): told for path, told in found}


def left(text: str) -> Catalogue:
    """What is left of a file that is not all right."""
    made, found = read_catalogue(document(text))
    assert found
    return made


def test_every_kind_comes_out() -> None:
    """Figures in mm and degrees, in the order of the file; defaults where nothing was said."""
    ours = catalogue()
    assert (ours.currency, ours.file) == ("EUR", "shared/parts.toml")
    assert (ours.labour.roll, ours.labour.slide) == (Reading(12.0), Labour().slide)
    assert ours.labour.guessed
    first, second = ours.risers
    assert first == Riser(
        name="Riser 20",
        height=Reading(20.0),
        pullback=Reading(12.7),
        clamp_diameter=Reading(28.6),
        price=Reading(45.5),
        minutes=Reading(30.0),
        fits=("heron",),
    )
    assert second == Riser(name="Riser 30", height=Reading(30.0, 0.5))
    [bar] = ours.bars
    assert bar == Bar(
        name="Bar 780",
        width=Reading(780.0),
        rise=Reading(60.0),
        pullback=Reading(90.0),
        backsweep=Reading(18.0),
        upsweep=Reading(2.0),
        clamp_diameter=Reading(28.6),
        bar_diameter=Reading(0.875 * MM_PER_INCH),
        price=Reading(90.0),
    )
    assert ours.extenders == (
        Extender(name="Ends 15", length=Reading(15.0), bar_diameter=Reading(22.2)),
    )
    [clip] = ours.clip_ons
    assert (clip.offset, clip.drop, clip.droop) == (Reading(28.0), Reading(-20.0), Reading(8.0))
    assert (clip.sweep, clip.length) == (Reading(24.0), Reading(240.0))
    assert (clip.tube_diameter, clip.bar_diameter) == (Reading(41.0), None)
    assert ours.peg_plates == (PegPlate(name="Plates", x=Reading(-10.0), z=Reading(-20.0)),)
    assert ours.seats == (Seat(name="High seat", z=Reading(25.0), minutes=Reading(10.0)),)
    assert ours.lever_sets == (
        LeverSet(name="Short levers", reach_range=(45.0, 75.0), side="brake"),
    )


def test_an_empty_catalogue() -> None:
    """A file that lists nothing is right."""
    assert catalogue("schema = 1\n") == Catalogue(file="shared/parts.toml")


@pytest.mark.parametrize(
    ("old", "new", "path", "said"),
    [
        ("[[riser]]", "[[risr]]", "risr", "unknown key 'risr', did you mean 'riser'?"),
        ("[labour]", "[labor]", "labor", "did you mean 'labour'?"),
        ("roll = 12", "rol = 12", "labour.rol", "did you mean 'roll'?"),
        ("roll = 12", "roll = -1", "labour.roll", "-1 is negative: it must lie in 0 to 6000"),
        ('"EUR"', '"EUR\\u0007"', "currency", "the character U+0007 cannot be shown"),
        ('"EUR"', '"thirteen char"', "currency", "13 characters are too many: 12 is the most"),
        ('currency = "EUR"', "price = 3", "price", "belongs in the table of one part"),
        ('"Riser 30"', '""', "riser.1.name", "the text is empty"),
        ('"Riser 30"', "30", "riser.1.name", "not text: write it in quotes"),
        ('"Riser 30"', '"' + "x" * 81 + '"', "riser.1.name", "81 characters are too many"),
        ('"Riser 30"', '"a\\u001b[1m"', "riser.1.name", "U+001B cannot be shown"),
        ('"Riser 30"', '"without Foam"', "riser.1.name", "by which a log says that a part was"),
        ('"High seat"', '"WITHOUT Foam"', "seat.0.name", ": give the part another name"),
        ('"Bar 780"', '"a;b"', "bar.0.name", "holds a semicolon"),
        ('"Riser 30"', '"None"', "riser.1.name", "takes for no part"),
        ('name = "Riser 30"', "", "riser.1.name", 'name is missing: add name = "..."'),
        ("height = {", "hight = {", "riser.1.hight", "did you mean 'height'?"),
        ('pullback = "1/2 in"', "backsweep = 3", "riser.0.backsweep", "belongs in [[bar]]"),
        ("price = 45.5", "price = -45.5", "riser.0.price", "-45.5 is negative"),
        ("price = 45.5", "price = nan", "riser.0.price", "not a number that can be measured"),
        ("price = 45.5", 'price = "45 EUR"', "riser.0.price", "is text where"),
        ("price = 45.5", "price = true", "riser.0.price", "true"),
        ("price = 45.5", "price = 1e6", "riser.0.price", "outside 0 to 100000"),
        ("minutes = 30", "minutes = inf", "riser.0.minutes", "not a number that can be measured"),
        ('["heron"]', '"heron"', "riser.0.fits", "where a list of bikes is wanted"),
        ('["heron"]', "[]", "riser.0.fits", "an empty list fits no bike"),
        ('["heron"]', '["heron", "../x"]', "riser.0.fits.1", "cannot be a name"),
        ('["heron"]', "[3]", "riser.0.fits.0", "not the name of a bike's file"),
        ("width = 780", "width = -780", "bar.0.width", "-780 mm is negative: it must lie in 400"),
        ("width = 780", "width = 78", "bar.0.width", 'did you mean "78 cm"?'),
        ("width = 780", 'width = "780 kg"', "bar.0.width", "is a mass"),
        ("width = 780", "", "bar.0.width", "width is missing: measure it and add it"),
        ("backsweep = 18", "backsweep = 95", "bar.0.backsweep", "lies outside -30 to 60 deg"),
        ("backsweep = 18", "backsweep = nan", "bar.0.backsweep", "not a number that can be"),
        ("length = 15", "length = 0", "extender.0.length", "0 mm lies outside 1 to 150 mm"),
        ("offset = 28", "offset = 280", "clip_on.0.offset", "outside -100 to 100 mm"),
        ("z = -20", "z = -200", "peg_plate.0.z", "outside -150 to 150 mm"),
        ("z = 25", "y = 25", "seat.0.y", "unknown key 'y'"),
        ("[45, 75]", "[75, 45]", "lever_set.0.reach_range", "runs backward: write [45, 75]"),
        ("[45, 75]", "[5, 75]", "lever_set.0.reach_range.0", "outside 20 to 150 mm"),
        ("[45, 75]", "60", "lever_set.0.reach_range", "two figures are wanted"),
        ('"brake"', '"brak"', "lever_set.0.side", 'did you mean "brake"?'),
        ("[[seat]]", "[seat]", "seat", "begin each with [[seat]]"),
    ],
)  # fmt: skip
def test_one_mistake(old: str, new: str, path: str, said: str) -> None:
    """Each mistake is said at its key, with the way to mend it."""
    assert old in TEXT
    found = mistakes(TEXT.replace(old, new, 1))
    assert said in found[path]
    assert len(found) == 1 or path == "seat.0.y"


@pytest.mark.parametrize("second", ['"Riser 20"', '"riser 20"', '" RISER 20 "'])
def test_two_parts_of_one_name(second: str) -> None:
    """Names differ over the whole file, whatever kind and capitals; both lines are told."""
    text = TEXT.replace('"High seat"', second)
    first = line_of(text, 'name = "Riser 20"')
    told = mistakes(text)
    assert told == {
        "seat.0.name": f"'{second[1:-1].strip()}' is the name of another part as well, on line "
        f"{first}: plans call parts by their names, so neither is used until each has its own"
    }
    found = document(text).problem(("seat", 0, "name"), told["seat.0.name"])
    last = text.partition("[[seat]]")[0].count("\n") + 2
    assert (first, found.line) == (9, last)


def test_every_mistake_at_once() -> None:
    """A name used twice is told beside the rest, and three of one name are two problems."""
    text = TEXT.replace('"Riser 30"', '"Riser 20"').replace('"Bar 780"', '"Riser 20"')
    found = mistakes(text.replace("width = 780", "width = -1").replace("z = 25", "z = nan"))
    assert found.keys() == {"riser.1.name", "bar.0.name", "bar.0.width", "seat.0.z"}


def test_a_part_with_a_mistake_is_left_out_alone() -> None:
    """Its name and line are told once; every other part is used."""
    ours, whole = left(TEXT.replace("width = 780", "width = -780")), catalogue()
    line = line_of(TEXT, "[[bar]]")
    assert ours.left_out == (f"Bar 780 (line {line})",)
    assert ours.remark == (
        "shared/parts.toml: 1 part is left out of every plan and list until it is mended: "
        f"Bar 780 (line {line})"
    )
    assert ours == evolve(whole, bars=(), left_out=ours.left_out, remark=ours.remark)


def test_a_name_that_a_log_reads_otherwise_leaves_its_part_out() -> None:
    """Other parts stay, also those whose names only hold such a word."""
    text = TEXT.replace('"High seat"', '"without foam; a"').replace('"Plates"', '"None without"')
    ours = left(text)
    assert ours.seats == ()
    assert [part.name for part in ours.peg_plates] == ["None without"]
    assert ours.left_out == (f"without foam; a (line {line_of(text, '[[seat]]')})",)
    assert list(mistakes(text)) == ["seat.0.name"]


def test_parts_of_one_name_are_all_left_out() -> None:
    """Which of them a plan or a bike means cannot be told; both lines stand in the remark."""
    text = TEXT.replace('"High seat"', '"riser 20"')
    ours = left(text)
    lines = line_of(text, "[[riser]]"), line_of(text, "[[seat]]")
    assert [part.name for part in ours.risers] == ["Riser 30"]
    assert ours.seats == ()
    assert ours.left_out == (f"Riser 20 (line {lines[0]})", f"riser 20 (line {lines[1]})")
    assert "2 parts are left out of every plan and list until they are mended: " in ours.remark


@pytest.mark.parametrize(
    ("old", "new", "remark"),
    [
        ("roll = 12", "roll = -1", "labour.roll is not used: our own minutes stand in"),
        ("roll = 12", "rol = 12\nslid = 3", "labour.rol and labour.slid are not used: our own"),
        ("[labour]", "[labor]", "labor is not used: our own minutes stand in"),
        ("[labour]\nroll = 12", "labour = 3", "labour is not used: our own minutes stand in"),
        ('"EUR"', "3", "prices stand without their currency"),
    ],
)
def test_what_is_no_part_stands_in(old: str, new: str, remark: str) -> None:
    """Minutes to start from, prices without a currency; every part stays."""
    ours, whole = left(TEXT.replace(old, new, 1)), catalogue()
    assert ours.remark.removeprefix("shared/parts.toml: ").startswith(remark)
    assert ours.left_out == ()
    assert all(ours.of(kind) == whole.of(kind) for kind in PARTS)
    assert ours.labour.slide == whole.labour.slide
    assert (ours.currency == "EUR") == ("currency" not in remark)


def test_a_kind_that_is_none_leaves_its_parts_out() -> None:
    """Under a name that is not known, or as one table; a part without a name is called by kind."""
    assert left("schema = 1\n[[risr]]\nname = 'A'\n[[risr]]\nz = 1\n").left_out == (
        "A (line 2)",
        "a [[risr]] without a name (line 4)",
    )
    assert left("schema = 1\n[seat]\nname = 'A'\nz = 1\n").left_out == ("A (line 2)",)
    assert left("schema = 1\nseat = 3\nprice = 3\n").remark == ""


def test_many_parts_left_out_are_counted() -> None:
    """A dozen by name."""
    text = "schema = 1\n" + "".join(f"[[seat]]\nname = 'S{n}'\n" for n in range(20))
    ours = left(text)
    assert len(ours.left_out) == 20
    assert "20 parts are left out" in ours.remark
    assert ours.remark.endswith("S11 (line 24) and 8 more")


@pytest.mark.parametrize("kind", PARTS)
def test_a_kind_is_a_list_of_tables(kind: str) -> None:
    """Anything else under its name is refused with the form."""
    for wrong in ("3", "{}", '"x"'):
        found = mistakes(f"schema = 1\n{kind} = {wrong}\n")
        assert found[kind].endswith(f"where tables are wanted: begin each with [[{kind}]]")
    assert f"{kind}.0" in mistakes(f"schema = 1\n{kind} = [3]\n")


@given(ours=catalogues(), data=st.data())
def test_what_is_left_is_the_file_with_what_is_wrong_taken_out(
    ours: Catalogue, data: st.DataObject
) -> None:
    """Parts spoilt in one way or another, and labour: as if somebody had taken them out."""
    tables, bare = written(ours), written(ours)
    places = [(kind, index) for kind in PARTS for index in range(len(ours.of(kind)))]
    spoilt = data.draw(st.sets(st.sampled_from(places))) if places else set()
    for kind, index in spoilt:
        part = _listed(tables, kind)[index]
        how = data.draw(st.sampled_from(["price", "more", "twin", "fits"]))
        if how == "twin":
            _listed(tables, kind).append(dict(part))
        else:
            part[{"price": "price", "more": "colour", "fits": "fits"}[how]] = []
    for kind in {kind for kind, _ in spoilt}:
        kept = [one for n, one in enumerate(_listed(bare, kind)) if (kind, n) not in spoilt]
        bare[kind] = kept
    if data.draw(st.booleans()):
        _table(tables, "labour")["roll"] = "an hour"
        del _table(bare, "labour")["roll"]
    found, _ = read_catalogue(document(tomli_w.dumps(tables)))
    assert evolve(found, left_out=(), remark="") == catalogue(tomli_w.dumps(bare))


def _table(tables: dict[str, object], name: str) -> dict[str, object]:
    found = tables[name]
    assert isinstance(found, dict)
    return found


def _listed(tables: dict[str, object], name: str) -> list[dict[str, object]]:
    found = tables[name]
    assert isinstance(found, list)
    return found


@given(catalogues())
def test_written_and_read_again(ours: Catalogue) -> None:
    """Any catalogue comes back as it was."""
    assert catalogue(tomli_w.dumps(written(ours))) == ours


def written(ours: Catalogue) -> dict[str, object]:
    """A catalogue as a file has it."""
    tables: dict[str, object] = {"schema": 1, "labour": _plain(ours.labour)}
    if ours.currency:
        tables["currency"] = ours.currency
    for kind in PARTS:
        if ours.of(kind):
            tables[kind] = [_plain(part) for part in ours.of(kind)]
    return tables


def _plain(part: Part | Labour) -> dict[str, object]:
    values = {field.name: getattr(part, field.name) for field in fields(type(part))}
    return {
        name: item.value
        if isinstance(item, Reading)
        else list(item)
        if isinstance(item, tuple)
        else item
        for name, item in values.items()
        if item is not None and item != ()
    }
