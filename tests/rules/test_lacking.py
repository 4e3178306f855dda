"""What a machine lacks for the tests is said once, and refused where all must be run."""

from tests.support.lacking import not_run

NODE = "node, which runs ical.js, is not installed"
BROWSER = "no chromium on this machine"
SKIPPED = (f"Skipped: {NODE}", f"Skipped: {BROWSER}", f"Skipped: {NODE}")


def test_what_was_not_run_is_said_in_one_line_with_how_many_tests():
    assert not_run(SKIPPED, {}).line == (
        f"Not run here: {BROWSER} (tests: 1); {NODE} (tests: 2)"
    )


def test_whatever_is_lacking_is_refused_unless_it_is_named():
    assert not_run(SKIPPED, {}).refused == (BROWSER, NODE)
    some = not_run(SKIPPED, {"MAY_LACK": "ical.js"})
    assert some.refused == (BROWSER,)
    assert some.line.endswith("; MAY_LACK: ical.js")
    assert not_run(SKIPPED, {"MAY_LACK": "ical.js, chromium"}).refused == ()


def test_a_run_that_lacks_nothing_refuses_nothing():
    assert not_run((), {"MAY_LACK": ""}).refused == ()
