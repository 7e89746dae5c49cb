"""The bench's signature (Ed25519, RFC 8032) under the end of a chain, and who can check it.

The private key is made at first use and never leaves the data folder; the public one lies beside
it, to be handed to whoever is to check a record without asking us.
"""

import base64
import binascii
import contextlib
import hashlib
import os
from collections.abc import Mapping
from pathlib import Path

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from daq.head.record import Seal
from daq.records.errors import RecordError

KEY_FILE = "signing.key"
PUBLIC_FILE = "signing.pub"
KEY_ID_CHARS = 16

Keys = Mapping[str, Ed25519PublicKey]

_PEM_END = b"-----END PUBLIC KEY-----"


class Signer:
    """Signs with one private key. key: the name of its public half, as it stands in a Seal."""

    def __init__(self, private: Ed25519PrivateKey) -> None:
        self._private = private
        self.key = key_id(private.public_key())

    @classmethod
    def in_folder(cls, folder: Path) -> "Signer":
        """The signer of that data folder; its keys are made if there are none.

        Raises RecordError for a key that cannot be read, OSError where the folder refuses.
        """
        file = folder / KEY_FILE
        if file.exists():
            private = _read(file)
        else:
            private = Ed25519PrivateKey.generate()
            _write(file, private)
        signer = cls(private)
        _publish(folder / PUBLIC_FILE, private.public_key())
        return signer

    def sign(self, message: bytes) -> Seal:
        """The seal under `message`."""
        return Seal(self.key, base64.b64encode(self._private.sign(message)).decode())


def key_id(public: Ed25519PublicKey) -> str:
    """How a key is named: the first 16 hex digits of the SHA-256 of its 32 bytes."""
    raw = public.public_bytes(serialization.Encoding.Raw, serialization.PublicFormat.Raw)
    return hashlib.sha256(raw).hexdigest()[:KEY_ID_CHARS]


def public_keys(file: Path) -> Keys:
    """The public keys in a PEM file, by their names. Raises RecordError."""
    try:
        text = file.read_bytes()
        found = {}
        for block in text.split(_PEM_END)[:-1]:
            public = serialization.load_pem_public_key(block + _PEM_END + b"\n")
            if isinstance(public, Ed25519PublicKey):
                found[key_id(public)] = public
    except OSError as error:
        raise RecordError(f"{file} cannot be read: {error.strerror}.") from None
    except (ValueError, TypeError) as error:
        raise RecordError(f"{file} holds no public key in PEM ({error}).") from None
    if not found:
        raise RecordError(
            f"{file} holds no Ed25519 public key; give the {PUBLIC_FILE} of the bench that signed."
        )
    return found


def trust(folder: Path, keys: Keys) -> None:
    """Put the public keys of another bench beside our own. Raises OSError."""
    for public in keys.values():
        _publish(folder / PUBLIC_FILE, public)


def fault_of(seal: Seal | None, message: bytes, keys: Keys) -> str:
    """What is wrong with the seal under `message`; "" when a key of `keys` made it."""
    if seal is None:
        return "is not signed"
    public = keys.get(seal.key)
    if public is None:
        return f"is signed with a key that is not at hand ({seal.key[:KEY_ID_CHARS]})"
    try:
        public.verify(base64.b64decode(seal.signature, validate=True), message)
    except (InvalidSignature, binascii.Error, ValueError):
        return "has a signature that is of something else"
    if base64.b64encode(base64.b64decode(seal.signature)).decode() != seal.signature:
        return "has a signature that was spelt otherwise"
    return ""


def _read(file: Path) -> Ed25519PrivateKey:
    try:
        private = serialization.load_pem_private_key(file.read_bytes(), password=None)
    except (ValueError, TypeError):
        private = None
    if not isinstance(private, Ed25519PrivateKey):
        raise RecordError(
            f"{file} is not the signing key it was: restore it from a backup, or move it away and "
            "a new one is made; what was signed with the old one stays checkable."
        )
    return private


def _write(file: Path, private: Ed25519PrivateKey) -> None:
    """On the disk under its name before it signs anything: a key that is lost proves nothing."""
    pem = private.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )
    _put(file, pem, 0o600)


def _publish(file: Path, public: Ed25519PublicKey) -> None:
    """Put the key into the file of public ones; earlier ones stay, what they signed stays too."""
    pem = public.public_bytes(
        serialization.Encoding.PEM, serialization.PublicFormat.SubjectPublicKeyInfo
    )
    known = b""
    with contextlib.suppress(FileNotFoundError):
        known = file.read_bytes()
    if pem not in known:
        _put(file, known + pem, 0o644)


def _put(file: Path, content: bytes, mode: int) -> None:
    new = file.with_name(file.name + ".new")
    handle = os.open(new, os.O_CREAT | os.O_WRONLY | os.O_CLOEXEC, mode)
    try:
        os.fchmod(handle, mode)
        os.ftruncate(handle, 0)
        os.pwrite(handle, content, 0)
        os.fsync(handle)
    finally:
        os.close(handle)
    new.replace(file)
    folder = os.open(file.parent, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)
