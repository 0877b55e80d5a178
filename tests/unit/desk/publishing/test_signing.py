"""Signatures beside bundles, by keys made here; what is checked is the machine's own ssh-keygen."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path

import pytest
from tests.commands import strikeproof
from tests.unit.desk.publishing.plain_bundle import plain_bundle, shelf_bundle

from strikeproof.desk.publishing.bundle.signing import (
    BadSignature,
    check_signing,
    sign_bundle,
    signature_of,
    verify_bundle,
)
from strikeproof.errors import BadInput, StoreError

if shutil.which("ssh-keygen") is None:
    pytest.skip("the machine has no ssh-keygen", allow_module_level=True)


@pytest.fixture
def keys(tmp_path: Path) -> Path:
    for name in ("mine", "other"):
        words = ["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-C", f"{name} author", "-f", tmp_path / name]
        subprocess.run(words, check=True)
    return tmp_path


def test_a_signature_holds_for_these_bytes_and_this_key_alone(keys: Path) -> None:
    bundle = keys / "x.zip"
    bundle.write_bytes(b"a bundle")
    with pytest.raises(BadSignature, match="no signature beside"):
        verify_bundle(bundle, keys / "mine.pub")
    sign_bundle(bundle, keys / "mine")
    signer = verify_bundle(bundle, keys / "mine.pub")
    assert signer.name == "mine-author" and signer.fingerprint.startswith("SHA256:")
    listed = keys / "signers"
    listed.write_text("# ours\nsomebody@bench.example " + (keys / "mine.pub").read_text())
    assert verify_bundle(bundle, listed).name == "somebody@bench.example"
    with pytest.raises(BadSignature, match="none of the keys"):
        verify_bundle(bundle, keys / "other.pub")
    bundle.write_bytes(b"another bundle")
    with pytest.raises(BadSignature, match="none of the keys"):
        verify_bundle(bundle, keys / "mine.pub")


def test_a_signature_of_something_else_is_none_of_a_bundle(keys: Path) -> None:
    bundle = keys / "x.zip"
    bundle.write_bytes(b"a bundle")
    words = ["ssh-keygen", "-q", "-Y", "sign", "-n", "file", "-f", keys / "mine", bundle]
    subprocess.run(words, check=True, stderr=subprocess.DEVNULL)
    with pytest.raises(BadSignature, match="none of the keys"):
        verify_bundle(bundle, keys / "mine.pub")


def test_what_cannot_sign_is_named(keys: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    bundle = keys / "x.zip"
    bundle.write_bytes(b"a bundle")
    (keys / "no-key").write_text("nothing")
    for key, said in (("no-key", "it did not sign"), ("gone", "there is no such file")):
        with pytest.raises(BadInput, match=said):
            sign_bundle(bundle, keys / key)
    monkeypatch.setenv("PATH", str(keys / "empty"))
    with pytest.raises(StoreError, match="has no ssh-keygen"):
        sign_bundle(bundle, keys / "mine")


def test_recompute_asks_for_the_signature_first(keys: Path) -> None:
    bundle = plain_bundle(keys / "x.zip", {"ring": 0.1})
    _, told = strikeproof("recompute", bundle, "--signed-by", keys / "mine.pub", code=1)
    assert "there is no signature beside the bundle" in told
    sign_bundle(bundle, keys / "mine")
    out, _ = strikeproof("recompute", bundle, "--signed-by", keys / "mine.pub", code=1)  # it has no charts
    assert out.startswith("signed by mine-author, key SHA256:")


def test_a_shelf_says_which_signatures_it_verified(keys: Path) -> None:
    folder = keys / "bundles"
    folder.mkdir()
    for name in ("mine", "other", "nobody"):
        bundle = shelf_bundle(folder / f"{name}.zip", name, "stand", {"ring": 9.0})
        if name != "nobody":
            sign_bundle(bundle, keys / name)
    _, err = strikeproof("shelf", folder, "--signed-by", keys / "mine.pub")
    assert "other.zip.sig: none of the keys" in err and "nobody.zip" not in err
    entries = json.loads((folder / "shelf" / "index.json").read_text())["entries"]
    signed = {each["campaign"]: (each["signed"], each["signed_by"][:11]) for each in entries}
    assert signed == {"mine": (True, "mine-author"), "other": (True, ""), "nobody": (False, "")}
    pages = {path.read_text() for path in (folder / "shelf" / "campaign").glob("*.html")}
    for said in ("of mine-author, key SHA256:", "beside the bundle, not verified here", "<dd>none</dd>"):
        assert sum(said in page for page in pages) == 1
    shelf = folder / "shelf" / "index.json"  # what another shelf verified is its word, not ours
    strikeproof("shelf", keys / "bundles", "-o", keys / "again")
    (keys / "empty").mkdir()
    strikeproof("shelf", keys / "empty", "-o", keys / "far", "--include", shelf)
    assert '"mine-author' not in (keys / "far" / "index.json").read_text()


def test_the_key_is_tried_before_the_bundle_is_made_and_a_signature_stays(keys: Path) -> None:
    bundle = keys / "x.zip"
    (keys / "no-key").write_text("nothing")
    with pytest.raises(BadInput, match="it did not sign"):
        check_signing(bundle, keys / "no-key", replace=False)
    check_signing(bundle, keys / "mine", replace=False)
    assert not signature_of(bundle).exists()
    signature_of(bundle).write_text("earlier")
    with pytest.raises(StoreError, match="is there already"):
        check_signing(bundle, keys / "mine", replace=False)
    check_signing(bundle, keys / "mine", replace=True)
    assert signature_of(bundle).read_text() == "earlier"
