"""Options of `record`: one for each measured number, in the words of the model."""

from __future__ import annotations

import click
from click.testing import CliRunner

from fitprofile.cli.commands import main
from fitprofile.cli.record_options import MEASURING, PAIR
from fitprofile.model.log import MEASURED, WHENS
from fitprofile.model.rider import HELP


def test_every_measured_number_has_its_option() -> None:
    """In the order of the model, and the pair takes two figures."""
    options = {option.name: option for option in main.commands["record"].params}
    assert [name[2:].replace("-", "_") for name, _, _ in MEASURING] == list(MEASURED)
    for name, _, _ in MEASURING:
        option = options[name[2:].replace("-", "_")]
        assert option.nargs == (2 if name == PAIR else 1)
        assert isinstance(option, click.Option)
        assert option.multiple


def test_choices_are_those_of_the_model() -> None:
    """`--when` and `--tape` take the model's words."""
    options = {option.name: option for option in main.commands["record"].params}
    for name, words in (("when", WHENS), ("tape", HELP)):
        assert tuple(options[name].type.choices) == words  # type: ignore[attr-defined]


def test_help_explains_each() -> None:
    """`record --help` lists every option."""
    shown = CliRunner().invoke(main, ["record", "--help"]).output
    for name, _, _ in MEASURING:
        assert name in shown
