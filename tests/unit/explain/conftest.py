import pytest
from tests.made_once import explained_campaign

from strikeproof.explain import Explanation


@pytest.fixture(scope="session")
def explanation(tmp_path_factory: pytest.TempPathFactory) -> Explanation:
    """A quick explanation of the small campaign, made once for all tests that ask it something."""
    return explained_campaign(tmp_path_factory)
