"""Words that stand on every sheet."""

from __future__ import annotations

from fitprofile.report.checks import CAUTIONS, STOP_CHECKS

MUST = ("Throttle", "Front lever", "Rear brake", "Clutch", "Steering", "Hoses", "Reservoir")


def test_every_stop_check_of_the_trade_is_there() -> None:
    """Throttle, both brakes, clutch, steering stops, hoses, reservoir and banjo."""
    assert all(any(check.startswith(word) for check in STOP_CHECKS) for word in MUST)
    assert any("banjo" in check for check in STOP_CHECKS)


def test_cautions_send_people_to_those_who_know() -> None:
    """Manual and mechanic, the law, the helper beside the stand, the clinician."""
    words = " ".join(CAUTIONS)
    for wanted in ("manual", "licensed mechanic", "Local law", "helper", "clinician", "chock"):
        assert wanted in words
