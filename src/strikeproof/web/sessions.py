"""Who is signed in: random words for browsers, and a delay for who guesses the token.

All of it is in memory: a server that starts again asks for the token again.
"""

from __future__ import annotations

import hmac
import ipaddress
import math
import secrets
import time
from collections import OrderedDict, deque
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

__all__ = ["Door", "Guesses", "Rights", "Session", "cookie_name"]

Rights = Literal["all", "look"]
"""What a token's holder may do: everything, or look at everything and change nothing."""

_IDLE_S: Final = 12 * 3600.0
_LONGEST_S: Final = 7 * 24 * 3600.0
_MOST_SESSIONS: Final = 200
_FREE: Final = 3  # guesses of an address without a delay: people mistype
_LONGEST_DELAY_S: Final = 300.0
_FORGET_S: Final = 3600.0
_MOST_ADDRESSES: Final = 1000
_MOST_A_MINUTE: Final = 60  # wrong guesses of all addresses together

Clock = Callable[[], float]


def cookie_name(port: int) -> str:
    """The name of the cookie: browsers share cookies between the ports of a machine."""
    return f"strikeproof_session_{port}"


@dataclass(slots=True)
class Session:
    """One browser that has signed in: a name for its work, its rights, when it came and was seen. [s]"""

    person: str
    rights: Rights
    began: float
    used: float


class Door:
    """The tokens of a server, and who came in by them."""

    def __init__(
        self, token: str | None, look_token: str | None = None, clock: Clock = time.monotonic
    ) -> None:
        self._tokens: tuple[tuple[str | None, Rights], ...] = ((token, "all"), (look_token, "look"))
        self._clock = clock
        self._sessions: OrderedDict[str, Session] = OrderedDict()
        self.guesses = Guesses(clock)
        self.is_open = token is None and look_token is None

    def sign_in(self, given: str, old: str = "") -> tuple[str, Session] | None:
        """A new session for a token, in place of the browser's old one; None when it is not the token."""
        found: Rights | None = None
        for token, rights in self._tokens:  # all are compared, so that each takes as long
            if token is not None and hmac.compare_digest(token.encode(), given.encode("utf-8", "replace")):
                found = found or rights
        if found is None:
            return None
        self.sign_out(old)
        word, now = secrets.token_urlsafe(32), self._clock()
        self._sessions[word] = Session(secrets.token_hex(8), found, now, now)
        while len(self._sessions) > _MOST_SESSIONS:
            self._sessions.popitem(last=False)
        return word, self._sessions[word]

    def session(self, word: str) -> Session | None:
        """The session of a cookie's word, while it lasts; it is used by this."""
        session, now = self._sessions.get(word), self._clock()
        if session is None:
            return None
        if now - session.used > _IDLE_S or now - session.began > _LONGEST_S:
            self.sign_out(word)
            return None
        session.used = now
        self._sessions.move_to_end(word)
        return session

    def sign_out(self, word: str) -> None:
        """End a session; its word is worth nothing afterwards."""
        self._sessions.pop(word, None)


class Guesses:
    """Wrong tokens by address: each after the third doubles the wait, and all together are few a minute."""

    def __init__(self, clock: Clock = time.monotonic) -> None:
        self._clock = clock
        self._wrong: OrderedDict[str, tuple[int, float]] = OrderedDict()
        self._lately: deque[float] = deque(maxlen=_MOST_A_MINUTE)

    def wait_s(self, address: str) -> float:
        """How long this address must wait before the next token is looked at. [s]"""
        now = self._clock()
        count, last = self._wrong.get(_block(address), (0, -math.inf))
        own = last + min(2.0 ** max(count - _FREE, 0), _LONGEST_DELAY_S) - now if count >= _FREE else 0.0
        full = len(self._lately) == _MOST_A_MINUTE
        return max(own, self._lately[0] + 60.0 - now if full else 0.0, 0.0)

    def note_wrong(self, address: str) -> None:
        """A token that was wrong."""
        now, block = self._clock(), _block(address)
        count, last = self._wrong.pop(block, (0, now))
        self._wrong[block] = (1 if now - last > _FORGET_S else count + 1, now)
        self._lately.append(now)
        while len(self._wrong) > _MOST_ADDRESSES:
            self._wrong.popitem(last=False)

    def note_right(self, address: str) -> None:
        """A token that was right: the mistyped ones before it are forgotten."""
        self._wrong.pop(_block(address), None)


def _block(address: str) -> str:
    """What one machine cannot change at will: the whole of an IPv4 address, the first half of an IPv6 one."""
    try:
        found = ipaddress.ip_address(address.partition("%")[0])
    except ValueError:
        return address
    if isinstance(found, ipaddress.IPv6Address):
        found = found.ipv4_mapped or found
    return str(found) if found.version == 4 else str(ipaddress.ip_network((found, 64), strict=False))
