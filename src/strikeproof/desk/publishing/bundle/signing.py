"""Signatures beside bundles: made and verified by the machine's own ssh-keygen, no cryptography of ours."""

from __future__ import annotations

import re
import shutil
import subprocess
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from strikeproof.campaign.text import read_file
from strikeproof.campaign.whole_file import write_whole
from strikeproof.errors import BadInput, StoreError, StrikeproofError

__all__ = [
    "NAMESPACE",
    "BadSignature",
    "Signer",
    "check_signing",
    "sign_bundle",
    "signature_of",
    "verify_bundle",
]

NAMESPACE: Final = "strikeproof-bundle"
"""What is signed, so that a signature of something else cannot be passed off as one of a bundle."""
_PROGRAM: Final = "ssh-keygen"
_PATIENCE_S: Final = 300.0  # a person may have to type a passphrase or touch a key
_MOST_KEYS: Final = 1 << 20
_KEY: Final = re.compile(r"(?:ssh-|ecdsa-|sk-)\S+ +\S+(?: +(.*))?")
_PRINT: Final = re.compile(r"SHA256:\S+")


class BadSignature(StrikeproofError):
    """A signature that is missing, is of other bytes, or is by nobody who was named."""


@dataclass(frozen=True, slots=True)
class Signer:
    """Who signed, as the list of keys calls them, and the fingerprint of the key."""

    name: str
    fingerprint: str


def signature_of(bundle: Path) -> Path:
    """Where the signature of a bundle lies."""
    return bundle.with_name(f"{bundle.name}.sig")


def check_signing(bundle: Path, key: Path, *, replace: bool) -> None:
    """Try a key before a bundle is computed, and that its signature would replace nothing unasked.

    Raises
    ------
    BadInput, StoreError
        As `sign_bundle`, or if a signature lies there already and is not to be replaced.
    """
    place = signature_of(bundle)
    if place.exists() and not replace:
        raise StoreError(f"{place}: is there already", "give another name, or add --replace")
    with tempfile.TemporaryDirectory(prefix="strikeproof-") as room:
        trial = Path(room) / "trial"
        trial.touch()
        sign_bundle(trial, key)


def sign_bundle(bundle: Path, key: Path) -> Path:
    """Sign a bundle with a person's SSH key; the signature is written beside it.

    Parameters
    ----------
    key
        The private key, or the public one where an agent has the private.

    Raises
    ------
    BadInput
        If there is no such key, or it cannot sign.
    StoreError
        If the machine has no ssh-keygen, or the signature cannot be written.

    References
    ----------
    OpenSSH, PROTOCOL.sshsig; ssh-keygen(1), -Y sign.
    """
    if not key.is_file():
        raise BadInput("there is no such file", where=str(key), allowed="an SSH key", fix="name your key")
    done = _ask(["-Y", "sign", "-f", str(key), "-n", NAMESPACE], bundle)
    if done.returncode or not done.stdout.startswith(b"-----BEGIN SSH SIGNATURE-----"):
        raise BadInput(
            f"it did not sign: {_last_line(done.stderr)}",
            where=str(key),
            allowed="an SSH key that can be used here",
            fix="check the key and its passphrase",
        )
    place = signature_of(bundle)
    try:
        write_whole(place, done.stdout)
    except OSError as cause:
        raise StoreError(f"{place}: cannot be written: {cause.strerror}", "choose another place") from cause
    return place


def verify_bundle(bundle: Path, keys: Path) -> Signer:
    """Who of those whose keys are given signed the bundle as it is.

    Parameters
    ----------
    keys
        A public key, or a list of signers as ssh-keygen(1) reads it.

    Raises
    ------
    BadInput
        If the keys cannot be read.
    BadSignature
        If there is no signature beside the bundle, or none of these keys made it of these bytes.
    StoreError
        If the machine has no ssh-keygen.
    """
    signature = signature_of(bundle)
    if not signature.is_file():
        raise BadSignature(
            f"{signature.name}: there is no signature beside the bundle",
            "get it where the bundle was published",
        )
    if not keys.is_file():
        raise BadInput("there is no such file", where=str(keys), allowed="a public key", fix="name the key")
    text = read_file(keys, _MOST_KEYS).decode("utf-8", "replace")
    with tempfile.TemporaryDirectory(prefix="strikeproof-") as room:
        listed = Path(room) / "signers"
        listed.write_text(_as_signers(text, keys.stem), encoding="utf-8")
        known = ["-f", str(listed), "-s", str(signature)]
        found = _ask(["-Y", "find-principals", *known, "-n", NAMESPACE], bundle)
        names = found.stdout.decode("utf-8", "replace").split("\n")[0].split(",")
        done = _ask(["-Y", "verify", *known, "-n", NAMESPACE, "-I", names[0]], bundle)
    if found.returncode or done.returncode:
        raise BadSignature(
            f"{signature.name}: none of the keys in {keys.name} signed these bytes",
            "get bundle and signature again; ask the author which key is theirs",
        )
    seen = _PRINT.search(done.stdout.decode("utf-8", "replace"))
    return Signer(names[0], seen[0] if seen else "")


def _as_signers(text: str, name: str) -> str:
    """A list of signers; public keys by themselves are named after their comment or their file."""
    lines = []
    for line in text.splitlines():
        key = _KEY.fullmatch(line.strip())
        if key is None:
            lines.append(line)
            continue
        called = re.sub(r"[^\w.@+-]+", "-", key[1] or name).strip("-") or "signer"
        lines.append(f"{called} {line.strip()}")
    return "\n".join(lines) + "\n"


def _ask(words: Sequence[str], bundle: Path) -> subprocess.CompletedProcess[bytes]:
    program = shutil.which(_PROGRAM)
    if program is None:
        raise StoreError(
            "this machine has no ssh-keygen", "install OpenSSH's client, or leave signing and keys out"
        )
    try:
        with bundle.open("rb") as stream:
            return subprocess.run(
                [program, *words], stdin=stream, capture_output=True, timeout=_PATIENCE_S, check=False
            )
    except subprocess.TimeoutExpired as cause:
        raise StoreError("ssh-keygen did not answer", "try again, with the key unlocked") from cause
    except OSError as cause:
        raise StoreError(f"{bundle}: {cause.strerror}", "check that the file can be read") from cause


def _last_line(text: bytes) -> str:
    lines = text.decode("utf-8", "replace").strip().splitlines()
    return lines[-1][:200] if lines else "it gave no reason"
