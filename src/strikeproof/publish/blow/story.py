"""One blow as something to look at: who touches whom, when, and what happens in which order."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from strikeproof.drivetrain import Blow, Chain
from strikeproof.drivetrain.chain import static_torque
from strikeproof.drivetrain.system import (
    BOND,
    CLAMP_RATE,
    FIRST,
    FIT,
    GAP,
    JAW,
    KIND,
    LEAK,
    PATH,
    SECOND,
    SLIP,
    THREAD,
)
from strikeproof.errors import BadInput
from strikeproof.language import say
from strikeproof.quantity import FloatArray, IntArray

__all__ = [
    "BACKWARD",
    "DRIVING",
    "OPEN",
    "SLIPPING",
    "STATES",
    "Contact",
    "Event",
    "Story",
    "body_word",
    "tell_blow",
]

# What a contact does.
OPEN: Final = 0
DRIVING: Final = 1
BACKWARD: Final = 2
SLIPPING: Final = 3
STATES: Final = (say("open"), say("driving"), say("backward"), say("slipping"))


@dataclass(frozen=True, slots=True)
class Contact:
    """A joint between two bodies.

    Attributes
    ----------
    name
        In the trade's word: jaw, square drive, hexagon; `bond` where nothing can open.
    first, second
        Indices of the bodies, the driving one first.
    gap
        Free play, 0 for none. [°]
    opens
        Whether it can lose touch.
    one_sided
        Whether it can only push forward.
    beside
        Whether it hangs beside the torque path.
    """

    name: str
    first: int
    second: int
    gap: float
    opens: bool
    one_sided: bool
    beside: bool


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happens at a time [ms], in words."""

    time: float
    words: str


@dataclass(frozen=True, slots=True)
class Story:
    """A blow in the units of its pictures.

    Attributes
    ----------
    bodies, contacts
        From the hammer on.
    inertias : (n,)
        [kg·m²]
    time : (rows,)
        From first contact. [ms]
    angles : (rows, n)
        [°]
    torques, states : (rows, m)
        Torque of every contact [N·m] and what it does until the next row.
    clamp_load : (rows,)
        [kN]
    needed : (rows,)
        Torque of turning the bolt slowly at this clamp load; with a shank that twists, head and thread. [N·m]
    turning : (rows,)
        Whether the thread is held (`OPEN`), turns on (`DRIVING`) or back (`BACKWARD`), until the next row.
    events
        In the order in which they happen.
    head
        Index of the contact that drives the bolt.
    hammer_speed
        Before the blow and back after it. [rad/s]
    loosens
        The blow turns against the thread.
    """

    bodies: tuple[str, ...]
    contacts: tuple[Contact, ...]
    inertias: FloatArray
    time: FloatArray
    angles: FloatArray
    torques: FloatArray
    states: IntArray
    clamp_load: FloatArray
    needed: FloatArray
    turning: IntArray
    events: tuple[Event, ...]
    head: int
    hammer_speed: tuple[float, float]
    loosens: bool

    @property
    def end(self) -> float:
        """How long the blow lasts. [ms]"""
        return float(self.time[-1])

    def stretches(self, contact: int) -> list[tuple[float, float, int]]:
        """From when to when a contact does what: (start, end, state) [ms], without holes."""
        return runs_of(self.time, self.states[:, contact])

    @property
    def parted(self) -> float:
        """When the hammer left the anvil for good, else the end. [ms]"""
        touching = np.flatnonzero(self.states[:-1, 0] != OPEN)
        return float(self.time[touching[-1] + 1]) if touching.size else self.end

    def turns(self) -> list[tuple[float, float, int]]:
        """From when to when the bolt is held, turns on or turns back."""
        return runs_of(self.time, self.turning)


def tell_blow(chain: Chain, blow: Blow) -> Story:
    """The story of a blow whose motion was stored.

    Raises
    ------
    BadInput
        If the blow was simulated without keeping its motion.
    """
    motion = blow.motion
    if motion.time.size < 2:
        raise BadInput(
            "its motion was not recorded",
            where="blow",
            allowed="a blow simulated with its motion",
            fix="name the blow to show",
        )
    contacts = name_contacts(chain)
    thread = int(chain.system.clamp[THREAD])
    states = find_states(chain, motion.torques)
    turning = _find_turning(motion.speeds[:, thread]) if thread >= 0 else np.zeros(len(states), np.int64)
    head = max((j for j, each in enumerate(contacts) if each.opens and not each.beside), default=0)
    return Story(
        bodies=chain.bodies,
        contacts=contacts,
        inertias=chain.system.bodies[:, 0],
        time=1e3 * motion.time,
        angles=np.degrees(motion.angles),
        torques=motion.torques,
        states=states,
        clamp_load=1e-3 * motion.clamp_load,
        needed=_needed(chain, motion.clamp_load),
        turning=turning,
        events=_find_events(contacts, head, blow, states, turning, twisting=_twists(chain)),
        head=head,
        hammer_speed=(blow.speed, blow.rebound),
        loosens=bool(chain.system.clamp[CLAMP_RATE] < 0.0),
    )


def _needed(chain: Chain, load: FloatArray) -> FloatArray:
    """Torque of slow turning, linear in the clamp load."""
    none = static_torque(chain, 0.0)
    return none + (static_torque(chain, 1.0) - none) * load


_BODIES: Final = {
    "hammer": say("hammer"),
    "anvil": say("anvil"),
    "head": say("head"),
    "bolt": say("bolt"),
    "thread": say("thread"),
}


def body_word(name: str) -> str:
    """A body as a person reads it: what is no part of the article by its word, a part by its own name."""
    return _BODIES.get(name, name)


def name_contacts(chain: Chain) -> tuple[Contact, ...]:
    """Every joint by the trade's word for it."""
    links, springs = chain.system.links, chain.system.springs
    path = int(chain.system.clamp[PATH])
    fits = [joint for joint in range(path) if links[joint, KIND] == FIT]
    found = []
    for joint, link in enumerate(links):
        first, second, kind = int(link[FIRST]), int(link[SECOND]), int(link[KIND])
        if kind == JAW:
            name = say("oil cushion") if springs[joint, LEAK] > 0.0 else say("jaw")
        elif joint >= path:
            name = say("bond of {part}", part=body_word(chain.bodies[second]))
        elif kind == BOND:
            name = (
                say("shank")
                if second == int(chain.system.clamp[THREAD])
                else say("joint of {part}", part=body_word(chain.bodies[second]))
            )
        elif joint == fits[-1] and (len(fits) > 1 or first != 1):
            name = say("hexagon")
        else:
            name = (
                say("square drive")
                if joint == fits[0]
                else say("fit of {part}", part=body_word(chain.bodies[second]))
            )
        gap = float(np.degrees(springs[joint, GAP])) if kind == FIT else 0.0
        found.append(Contact(name, first, second, gap, kind != BOND, kind == JAW, joint >= path))
    return tuple(found)


def find_states(chain: Chain, torques: FloatArray) -> IntArray:
    """What each joint does, (rows, m): an open one has no torque at all, a slipping bond its slip torque."""
    states = np.where(torques > 0.0, DRIVING, np.where(torques < 0.0, BACKWARD, OPEN))
    slips = chain.system.springs[:, SLIP]
    slipping = (slips > 0.0) & (np.abs(torques) == slips)
    states[slipping] = SLIPPING
    bonds = (chain.system.links[:, KIND] == BOND)[None, :] & (states == OPEN)
    states[bonds] = DRIVING
    return states.astype(np.int64)


def runs_of(time: FloatArray, values: IntArray) -> list[tuple[float, float, int]]:
    """Stretches of equal values: (start, end, value); the last row only ends the one before it."""
    changes = np.flatnonzero(np.diff(values[:-1])) + 1
    starts = np.concatenate(([0], changes))
    ends = np.concatenate((changes, [time.size - 1]))
    rows = zip(starts, ends, strict=True)
    return [(float(time[a]), float(time[b]), int(values[a])) for a, b in rows if time[b] > time[a]]


def _find_turning(speed: FloatArray) -> IntArray:
    """What the bolt does from each row on; in the row in which it slips its speed is still 0."""
    speed = np.where(speed != 0.0, speed, np.append(speed[1:], 0.0))
    return np.where(speed > 0.0, DRIVING, np.where(speed < 0.0, BACKWARD, OPEN)).astype(np.int64)


def _bolt_events(time: FloatArray, turning: IntArray, name: str) -> list[Event]:
    """When the bolt, or its thread, starts, has turned on for the last time, and gives way backward."""
    found = []
    on, back = np.flatnonzero(turning == DRIVING), np.flatnonzero(turning == BACKWARD)
    if on.size:
        found.append(Event(float(time[on[0]]), say("{body} starts to turn", body=name)))
        if on[-1] + 1 < time.size:
            found.append(Event(float(time[on[-1] + 1]), say("{body} stops", body=name)))
    if back.size:
        found.append(Event(float(time[back[0]]), say("{body} gives way backward", body=name)))
    return found


def _twists(chain: Chain) -> bool:
    """Whether the bolt's shank twists: then the head may turn and the thread not yet."""
    links, thread = chain.system.links[: int(chain.system.clamp[PATH])], int(chain.system.clamp[THREAD])
    return bool(np.any((links[:, KIND] == BOND) & (links[:, SECOND] == thread)))


def _find_events(
    contacts: tuple[Contact, ...],
    head: int,
    blow: Blow,
    states: IntArray,
    turning: IntArray,
    *,
    twisting: bool,
) -> tuple[Event, ...]:
    motion = blow.motion
    time = 1e3 * motion.time
    found = []
    for joint, contact in enumerate(contacts):
        touched = np.flatnonzero(states[:, joint] == DRIVING)
        if contact.opens and not contact.beside and touched.size:
            found.append(Event(float(time[touched[0]]), say("{contact} closes", contact=contact.name)))
    crest = int(np.argmax(motion.torques[:, head]))
    if motion.torques[crest, head] > 0.0:
        peak = f"{motion.torques[crest, head]:.0f} N·m"
        words = say("{contact} peaks at {torque}", contact=contacts[head].name, torque=peak)
        found.append(Event(float(time[crest]), words))
    found += _bolt_events(time, turning, body_word("thread" if twisting else "bolt"))
    back = np.flatnonzero(motion.speeds[:, 0] < 0.0)
    if back.size:
        found.append(Event(float(time[back[0]]), say("hammer turns back")))
    last = np.flatnonzero(states[:-1, 0] != OPEN)
    if last.size and states[-1, 0] == OPEN:
        found.append(
            Event(float(time[last[-1] + 1]), say("{contact} opens for good", contact=contacts[0].name))
        )
    return tuple(sorted(found, key=lambda event: event.time))
