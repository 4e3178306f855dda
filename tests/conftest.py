"""What several test modules share: the examples, each planned once."""

import pytest
from hypothesis import settings

from tests.support.examples import Examples

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
