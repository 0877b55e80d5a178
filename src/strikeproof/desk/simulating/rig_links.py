"""Which ports may be opened for somebody at a browser: the machine's own, and links of simulated rigs."""

from __future__ import annotations

import os
import secrets
from pathlib import Path

from strikeproof.capture.rig_port import list_ports
from strikeproof.errors import BadInput

__all__ = ["is_own_link", "leads_to", "point", "require_known_port"]


def require_known_port(name: str) -> None:
    """Nothing, for a serial port that the machine lists, under any of its names, or a simulated rig's link.

    Opening any other file could read what is typed in a terminal, or wake a device that is no rig.

    Raises
    ------
    BadInput
        If it is neither.
    """
    listed = {os.path.realpath(port): port for port, _says in list_ports()}
    if name in listed.values() or os.path.realpath(name) in listed or is_own_link(Path(name)):
        return
    raise BadInput(
        f"{name!r} is no serial port that this machine lists",
        where="the port",
        allowed=", ".join(sorted(listed.values())) or "a serial port; none is plugged in now",
        fix="plug the rig in, or start the server with --any-port",
    )


def is_own_link(link: Path) -> bool:
    """Whether a simulated rig made it."""
    there = _target(link)
    return there is not None and there.startswith("/dev/") and there == _marked(there)


def leads_to(link: Path, port: str) -> bool:
    """Whether it is a simulated rig's link to that port."""
    return _target(link) == _marked(port)


def _marked(port: str) -> str:
    """A port's name as only a simulated rig writes it into a link: by this a link is known as its own."""
    return str(Path(port).parent) + "/./" + Path(port).name


def _target(link: Path) -> str | None:
    return os.readlink(link) if link.is_symlink() else None  # noqa: PTH115 - a Path forgets the marking dot


def point(link: Path, port: str) -> None:
    """Let a link lead to a port; no file and no link of a person's own is replaced.

    Raises
    ------
    BadInput
        If another file is there, or none can be made there.
    """
    if os.path.lexists(link) and not is_own_link(link):
        raise BadInput(
            f"{link} is there already, and no simulated rig made it",
            where="--link",
            allowed="a name that no file has",
            fix="choose another name, or move that file away",
        )
    fresh = link.with_name(f".{link.name}.{secrets.token_hex(4)}.new")
    try:
        fresh.symlink_to(_marked(port))
        fresh.replace(link)
    except OSError as cause:
        fresh.unlink(missing_ok=True)
        raise BadInput(
            f"{link} cannot be made: {cause.strerror}",
            where="--link",
            allowed="a name in a folder that can be written",
            fix="choose another name",
        ) from cause
