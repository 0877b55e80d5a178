"""The licences a person may choose for a bundle, by SPDX identifier (SPDX License List; from memory)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from strikeproof.errors import BadInput, nearest

__all__ = ["LICENCES", "Licence", "find_licence"]


@dataclass(frozen=True, slots=True)
class Licence:
    """A licence: its SPDX identifier, its name, and what it lets others do, in a few words."""

    spdx: str
    title: str
    says: str

    @property
    def address(self) -> str:
        """Where its text is."""
        return f"https://spdx.org/licenses/{self.spdx}.html"


LICENCES: Final = (
    Licence("CC-BY-4.0", "Creative Commons Attribution 4.0", "any use; your name must be given"),
    Licence(
        "CC-BY-SA-4.0",
        "Creative Commons Attribution Share Alike 4.0",
        "any use; your name must be given, and what is made from it has the same licence",
    ),
    Licence(
        "CC-BY-NC-4.0",
        "Creative Commons Attribution Non Commercial 4.0",
        "no commercial use; your name must be given",
    ),
    Licence(
        "CC-BY-NC-SA-4.0",
        "Creative Commons Attribution Non Commercial Share Alike 4.0",
        "no commercial use; your name must be given, and what is made from it has the same licence",
    ),
    Licence(
        "CC-BY-ND-4.0",
        "Creative Commons Attribution No Derivatives 4.0",
        "your name must be given; changed versions may not be shared",
    ),
    Licence("CC0-1.0", "Creative Commons Zero 1.0", "any use, without conditions"),
    Licence("PDDL-1.0", "Open Data Commons Public Domain Dedication and License 1.0", "data: any use"),
    Licence("ODC-By-1.0", "Open Data Commons Attribution License 1.0", "data: your name must be given"),
    Licence(
        "ODbL-1.0",
        "Open Data Commons Open Database License 1.0",
        "data: your name must be given, and what is made from it has the same licence",
    ),
    Licence("CDLA-Permissive-2.0", "Community Data License Agreement Permissive 2.0", "data: any use"),
)


def find_licence(spdx: str) -> Licence:
    """The licence of an identifier, whatever its case.

    Raises
    ------
    BadInput
        If none was chosen, or it is none of these.
    """
    known = {each.spdx.casefold(): each for each in LICENCES}
    if found := known.get(spdx.strip().casefold()):
        return found
    listed = ", ".join(each.spdx for each in LICENCES)
    near = nearest(spdx, [each.spdx for each in LICENCES]) if spdx else None
    raise BadInput(
        f"{spdx!r} is none of the licences known here" if spdx.strip() else "no licence is chosen",
        where="licence",
        allowed=listed,
        fix=f"did you mean {near!r}?"
        if near
        else "choose what others may do with your data; without a licence they may do nothing",
        key="licence",
    )
