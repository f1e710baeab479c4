"""A signed manifest: told from an unsigned, altered or foreign one; PyNaCl signs, and another
implementation of RFC 8032 checks it."""

from __future__ import annotations

import json
import stat
from pathlib import Path

import pytest
from typer.testing import CliRunner

from tests.release.publish.quick import catalogue, line, run
from vent_family.base.problems import InputError
from vent_family.front.cli.app import app
from vent_family.release.publish.signing import is_signed, new_keys, public_key, signer
from vent_family.release.publish.verify import verify_library

pytest.importorskip("nacl")


@pytest.fixture
def keys(tmp_path: Path) -> Path:
    new_keys(tmp_path / "hatchery.key")
    return tmp_path / "hatchery.key"


def test_a_signature_is_that_of_the_standards_first_example() -> None:
    """RFC 8032, section 7.1, TEST 1 and TEST 2."""
    first = "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a"
    signed = (
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e06522490155"
        "5fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b"
    )
    assert is_signed(b"", signed.encode(), first)
    assert not is_signed(b"\x72", signed.encode(), first)
    second = "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c"
    signed = (
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da"
        "085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"
    )
    assert is_signed(b"\x72", signed.encode(), second)


def test_a_library_is_signed_and_an_altered_one_is_not(tmp_path: Path, keys: Path) -> None:
    out = tmp_path / "out"
    path = catalogue(tmp_path, line("A-1"))
    run(path, out, signer=signer(keys))
    public = public_key(keys.with_name("hatchery.key.pub"))
    assert not verify_library(out, public).findings
    other = tmp_path / "other.key"
    new_keys(other)
    (found,) = verify_library(out, public_key(other.with_name("other.key.pub"))).findings
    assert "no signature by the holder" in found.text
    assert not verify_library(out).findings
    assert not run(path, out, signer=signer(keys)).switched
    assert run(path, out).switched, "a library that is signed no more is another one"
    assert verify_library(out, public).findings


def test_a_whole_library_forged_without_the_key_is_noticed(tmp_path: Path, keys: Path) -> None:
    """Every hash agrees, the signature is that of another library of the same holder."""
    run(catalogue(tmp_path, line("A-1")), tmp_path / "real", signer=signer(keys))
    public = public_key(keys.with_name("hatchery.key.pub"))
    (tmp_path / "catalog.releases.csv").unlink()
    forged = tmp_path / "forged"
    run(catalogue(tmp_path, line("A-1", words="forged")), forged)
    generation = json.loads((forged / "library.json").read_text("utf-8"))["generation"]
    (signature,) = (tmp_path / "real" / "generations").glob("*/manifest.sig")
    (forged / "generations" / generation / "manifest.sig").write_bytes(signature.read_bytes())
    assert not verify_library(forged).findings
    assert verify_library(forged, public).findings


def test_the_secret_key_is_for_its_owner_and_never_overwritten(keys: Path) -> None:
    assert stat.S_IMODE(keys.stat().st_mode) == 0o600
    with pytest.raises(InputError, match="there already"):
        new_keys(keys)
    with pytest.raises(InputError, match="no secret key"):
        signer(keys.with_name("hatchery.key.pub"))
    with pytest.raises(InputError, match="no public key"):
        public_key(keys)


def test_the_command_makes_keys(tmp_path: Path) -> None:
    result = CliRunner().invoke(app, ["signing-key", str(tmp_path / "k")])
    assert result.exit_code == 0, result.output
    assert "public key" in result.output
    assert signer(tmp_path / "k").public == public_key(tmp_path / "k.pub")
