"""What several test modules share: the examples, each planned once; what wasn't run."""

import gc
import os

import pytest
from hypothesis import settings

from tests.support.examples import Examples
from tests.support.lacking import NotRun, not_run

# What is collected stays until the end: it is not looked through for garbage again and
# again, neither while it grows nor, frozen, while tests run.
OBJECTS_BETWEEN_SEARCHES = 200_000
gc.set_threshold(OBJECTS_BETWEEN_SEARCHES)

# A change is judged on the same cases each time; `pytest --hypothesis-profile search`
# draws new ones, and many more.
settings.register_profile("steady", derandomize=True, deadline=None)
settings.register_profile("search", max_examples=2000, deadline=None, print_blob=True)
settings.load_profile("steady")


@pytest.fixture(scope="session")
def planned(tmp_path_factory, request) -> Examples:
    """The examples by name, each planned once for all workers."""
    own = tmp_path_factory.getbasetemp()
    return Examples(own.parent if hasattr(request.config, "workerinput") else own)


def pytest_collection_finish() -> None:
    """Take all that was collected out of what is searched for garbage."""
    gc.freeze()


def _not_run(config: pytest.Config) -> NotRun:
    """Return what the tests of this run, in whatever worker, were skipped for."""
    reporter = config.pluginmanager.get_plugin("terminalreporter")
    skipped = reporter.stats.get("skipped", []) if reporter else []
    return not_run((report.longrepr[2] for report in skipped), os.environ)


def pytest_terminal_summary(terminalreporter) -> None:
    """Say in one line what this machine lacks for some of the tests."""
    found = _not_run(terminalreporter.config)
    if found.reasons:
        terminalreporter.write_line(found.line)


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Where all must be run, as with CI=true, let a run that lacks something fail."""
    if os.environ.get("CI") == "true" and _not_run(session.config).refused:
        session.exitstatus = pytest.ExitCode.TESTS_FAILED
