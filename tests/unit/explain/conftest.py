import numpy as np
import pytest
from tests.unit.explain.bench import measured

from strikeproof.explain import Explanation, explain_campaign


@pytest.fixture(scope="session")
def explanation() -> Explanation:
    """A quick explanation of the small campaign, made once for all tests that ask it something."""
    return explain_campaign(measured(), rng=np.random.default_rng(1), quick=True)
