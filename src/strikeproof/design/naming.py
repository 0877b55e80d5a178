"""Names of proposals: short, and where two would be called the same, the second by what it has otherwise."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from strikeproof.design.plans import Plan

__all__ = ["Names"]


@dataclass(slots=True)
class Names:
    """The names that are taken, and what is known of those who have them."""

    taken: set[str]
    _alike: dict[str, list[tuple[str, ...]]] = field(default_factory=dict)

    @classmethod
    def beside(cls, built: Iterable[str], known: Iterable[tuple[Plan, str]]) -> Names:
        """Beside articles that exist, and plans that have their names already."""
        names = cls(set(built))
        for plan, name in known:
            names.taken.add(name)
            names._alike.setdefault(plan.title, []).append(plan.details)
        return names

    def give(self, plan: Plan) -> str:
        """A name for a plan: its title, with what sets it apart from others of that title.

        Only what is alike in everything, or built already under that name, is numbered.
        """
        twins = self._alike.setdefault(plan.title, [])
        own = plan.title
        if twins:
            rows = zip(plan.details, zip(*twins, strict=False), strict=False)
            apart = [detail for detail, others in rows if detail and detail not in others]
            own = " ".join((own, *(apart[:1] or filter(None, plan.details))))
        tries = (own, *(f"{own} ({number})" for number in range(2, len(self.taken) + 3)))
        name = next(each for each in tries if each not in self.taken)
        twins.append(plan.details)
        self.taken.add(name)
        return name
