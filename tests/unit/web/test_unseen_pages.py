"""Pages that were asked for and never shown by a browser do not fill the memory."""

from __future__ import annotations

import pytest

from strikeproof.web import frame


class _Pages:
    """Stands in for the framework's register of pages."""

    def __init__(self, count: int) -> None:
        self.instances = dict.fromkeys(range(count))
        self.ages: list[float] = []

    def prune_instances(self, *, client_age_threshold: float) -> None:
        self.ages.append(client_age_threshold)


@pytest.mark.parametrize(("count", "ages"), [(250, []), (251, [5.0])])
def test_with_many_pages_the_unseen_ones_go_early(
    count: int, ages: list[float], monkeypatch: pytest.MonkeyPatch
) -> None:
    pages = _Pages(count)
    monkeypatch.setattr(frame, "Client", pages)
    frame.forget_unseen_pages()
    assert pages.ages == ages
