"""Which date of a log is most likely wrong: by hand, and against every choice there is."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitprofile.store.log_dates import Slip, lies_before, slip_words, slips


def days(*numbers: int) -> list[str]:
    """Days of May."""
    return [f"2026-05-{number:02d}" for number in numbers]


@pytest.mark.parametrize(
    ("one", "other", "before"),
    [
        ("2026-05-16", "2026-05-17", True),
        ("2026-05-17", "2026-05-17T08:00:00", False),
        ("2026-05-17T07:00:00", "2026-05-17T08:00:00", True),
        ("2026-05-17T08:00:00+02:00", "2026-05-17T07:00:00", False),
        ("2026-05-17T08:00:00+02:00", "2026-05-17T07:00:00+00:00", True),
        ("2026-05-17", "2026-05-17", False),
    ],
)
def test_days_and_moments_compare(one: str, other: str, before: bool) -> None:
    """Where one has no hour or no zone, the day alone decides."""
    assert lies_before(one, other) is before


@pytest.mark.parametrize(
    ("numbers", "expected"),
    [
        ((), ()),
        ((1, 1, 2, 5), ()),
        # Either would do: the later-written is dated before an earlier-written one.
        ((10, 1), (Slip(1, 0),)),
        # One slip of the pen, and not each later record.
        ((1, 30, 2, 3), (Slip(1, 2),)),
        ((30, 1, 2), (Slip(0, 1),)),
        ((10, 11, 1, 12), (Slip(2, 1),)),
        ((1, 30, 2, 3, 25, 4, 5), (Slip(1, 2), Slip(4, 5))),
    ],
)
def test_as_few_dates_as_possible_are_doubted(
    numbers: tuple[int, ...], expected: tuple[Slip, ...]
) -> None:
    """Each with the nearest record it does not go together with."""
    assert slips(days(*numbers)) == expected


def test_what_lies_after_today_is_wrong_and_blames_nobody_else() -> None:
    """Without today it is a date like any other."""
    dates = [*days(1), "2099-01-01", *days(2)]
    assert slips(dates, "2026-06-01") == (Slip(1, None),)
    assert slips(dates) == (Slip(2, 1),)
    assert slips(["2026-06-01T23:00:00"], "2026-06-01") == ()


@given(st.lists(st.integers(1, 9), max_size=8))
def test_no_fewer_would_do(numbers: list[int]) -> None:
    """Against every choice of dates left out; what is kept never goes back."""
    found = {slip.at for slip in slips(days(*numbers))}

    def sound(left_out: tuple[int, ...]) -> bool:
        rest = [number for at, number in enumerate(numbers) if at not in left_out]
        return rest == sorted(rest)

    assert sound(tuple(found))
    for size in range(len(found)):
        assert not any(map(sound, combinations(range(len(numbers)), size)))


@given(
    st.lists(
        st.builds(
            "2026-05-1{}{}".format,
            st.integers(0, 2),
            st.sampled_from(["", "T08:00:00", "T09:00:00", "T09:30:00+02:00"]),
        ),
        max_size=12,
    )
)
def test_days_and_moments_mixed_have_slips_that_are_some(dates: list[str]) -> None:
    """Each doubted date really contradicts the one it is held against."""
    for slip in slips(dates):
        assert slip.against is not None
        early, late = sorted((slip.at, slip.against))
        assert lies_before(dates[late], dates[early])


def test_a_sentence_names_both_dates_and_who_came_first() -> None:
    """Before an earlier one, after a later one, after today."""
    dates = days(10, 1)
    assert slip_words(dates, Slip(1, 0), None, ", line 3") == (
        "2026-05-01 lies before 2026-05-10, the date of an earlier record, line 3: "
        "the order of the file counts; correct whichever is wrong"
    )
    assert "2026-05-10 lies after 2026-05-01, the date of a later record" in slip_words(
        dates, Slip(0, 1), None
    )
    assert slip_words(dates, Slip(0, None), "2026-05-09") == (
        "2026-05-10 lies after today, 2026-05-09: correct it here, or the computer's clock"
    )
