"""What must not be run is told by the kind of a caution, whatever its words and the names in them."""

from __future__ import annotations

import pickle
from types import SimpleNamespace
from typing import cast

from strikeproof.desk.cautions import Stop
from strikeproof.desk.proposal import Proposal

WORN = "STOP collar (bending) has a finite life: look for cracks before every run."
"""Of a part that a person has called so."""


def test_a_part_whose_name_begins_like_a_stop_forbids_nothing() -> None:
    gives = Stop("STOP: ring (weld) gives at 700 N·m, and blows may reach 780 N·m. Do not run it.")
    proposal = cast(Proposal, SimpleNamespace(cautions=(gives, WORN)))
    assert Proposal.stops.fget is not None
    assert Proposal.stops.fget(proposal) == (gives,)


def test_a_stop_stays_one_between_processes() -> None:
    assert isinstance(pickle.loads(pickle.dumps(Stop("STOP: take a new bolt."))), Stop)
