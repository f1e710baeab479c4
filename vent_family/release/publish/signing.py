"""Signing a generation: an Ed25519 signature (RFC 8032) of its manifest, by PyNaCl.

Whoever has the public key can tell that a library comes from the holder of the secret one; hashes
alone tell only that nothing was altered since the manifest was written.
"""

from __future__ import annotations

import os
import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from vent_family.base.atomic import write_bytes
from vent_family.base.problems import InputError, Problem

if TYPE_CHECKING:
    from nacl.signing import SigningKey

SIGNATURE_NAME: Final = "manifest.sig"
_SECRET: Final = "vent-family secret key"
_PUBLIC: Final = "vent-family public key"
_HEX: Final = "[0-9a-f]{64}"
_SECRET_MODE: Final = 0o600


@dataclass(frozen=True, slots=True)
class Signer:
    """Signs manifests; ``public`` is the public key in hexadecimal digits."""

    public: str
    _key: SigningKey

    def signature(self, manifest: bytes) -> bytes:
        """Return the signature of a manifest as it stands in its file."""
        digits: str = self._key.sign(manifest).signature.hex()
        return f"{digits}\n".encode("ascii")


def new_keys(path: Path) -> Path:
    """Write a new secret key to ``path``, and its public key beside it; return where that stands.

    Raises
    ------
    InputError
        if one of the files is there already, or the library for signatures is missing
    OSError
        if the files cannot be written
    """
    public = path.with_name(f"{path.name}.pub")
    for file in (path, public):
        if file.exists():
            raise _refused("library.key.there", "the file is there already", file, "name another")
    key = _nacl(path).signing.SigningKey.generate()
    write_bytes(path, f"{_SECRET}\n{key.encode().hex()}\n".encode("ascii"))
    os.chmod(path, _SECRET_MODE)
    write_bytes(public, f"{_PUBLIC}\n{key.verify_key.encode().hex()}\n".encode("ascii"))
    return public


def signer(path: Path) -> Signer:
    """Return what signs with the secret key in a file.

    Raises
    ------
    InputError
        if the file holds no secret key, or the library for signatures is missing
    """
    key = _nacl(path).signing.SigningKey(bytes.fromhex(_digits(path, _SECRET)))
    return Signer(key.verify_key.encode().hex(), key)


def public_key(path: Path) -> str:
    """Return the public key in a file, in hexadecimal digits.

    Raises
    ------
    InputError
        if the file holds none
    """
    return _digits(path, _PUBLIC)


def is_signed(manifest: bytes, signature: bytes, public: str) -> bool:
    """Tell whether a signature is that of a manifest by the holder of a public key.

    Raises
    ------
    InputError
        if the library for signatures is missing
    """
    nacl = _nacl(Path(SIGNATURE_NAME))
    try:
        key = nacl.signing.VerifyKey(bytes.fromhex(public))
        key.verify(manifest, bytes.fromhex(signature.decode("ascii").strip()))
    except (ValueError, nacl.exceptions.BadSignatureError, nacl.exceptions.ValueError):
        return False
    return True


def _digits(path: Path, kind: str) -> str:
    try:
        lines = path.read_text(encoding="ascii").splitlines()
    except (OSError, UnicodeDecodeError):
        lines = []
    if len(lines) != 2 or lines[0] != kind or not re.fullmatch(_HEX, lines[1]):
        raise _refused(
            "library.key.unread",
            f"this is no {kind.removeprefix('vent-family ')}",
            path,
            "make a pair with vent-family signing-key FILE; the public one ends in .pub",
        )
    return lines[1]


def _nacl(path: Path) -> Any:
    try:
        import nacl.exceptions
        import nacl.signing
    except ImportError:
        raise _refused(
            "library.key.library",
            "the library for signatures is not installed",
            path,
            "install it: pip install 'vent-family[sign]'",
        ) from None
    return nacl


def _refused(code: str, message: str, path: Path, suggestion: str) -> InputError:
    return InputError([Problem(code, message, file=path.name, suggestion=suggestion)])
