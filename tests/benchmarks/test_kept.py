"""The command that sets plans made to be kept beside those that return first."""

import pytest

from tests.benchmarks.kept import main


@pytest.mark.slow
def test_each_job_has_its_dates_before_and_after_and_what_none_could_promise(capsys):
    asked = "--examples straight --known 4 --work 0.2"
    assert main(asked.split()) == 0
    head, first, kept, bound, same, mean = capsys.readouterr().out.splitlines()
    assert head.startswith("straight: search ")
    assert first.startswith("  first  closed from ")
    assert kept.startswith("  kept   closed from ")
    assert bound.startswith("  none before ")
    assert same.startswith("  in the bound's own futures, days to the 80 % date ")
    assert mean.startswith("made up on average: ")
