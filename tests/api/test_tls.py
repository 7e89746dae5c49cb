"""A bench on the network speaks TLS itself; who is let in is in test_access.py."""

import contextlib
import datetime as dt
import ssl
import threading
import time
from ipaddress import ip_address

import httpx
import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from api.build import build
from api.config import load_config
from api.serve import ServeError, doors_of, listening, server_for
from api.tokens import Scope
from daq.records.journal import Journal
from tests.api.conftest import CONFIG, counted_ids, counted_time

ACCESS = '\n[access]\nhosts = ["127.0.0.1"]\ncertificate = "bench.crt"\nkey = "bench.key"\n'


@pytest.fixture
def loaded(tmp_path):
    """The config of a bench on the network, with a certificate that signs itself."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "invented bench")])
    now = dt.datetime.now(dt.UTC)
    there = x509.SubjectAlternativeName([x509.IPAddress(ip_address("127.0.0.1"))])
    made = (
        x509.CertificateBuilder(name, name, key.public_key(), 1)
        .not_valid_before(now - dt.timedelta(days=1))
        .not_valid_after(now + dt.timedelta(days=1))
        .add_extension(there, critical=False)
        .sign(key, hashes.SHA256())
    )
    pem = serialization.Encoding.PEM
    (tmp_path / "bench.crt").write_bytes(made.public_bytes(pem))
    plain = serialization.NoEncryption()
    (tmp_path / "bench.key").write_bytes(
        key.private_bytes(pem, serialization.PrivateFormat.PKCS8, plain)
    )
    text = CONFIG.format(folder=tmp_path).replace("127.0.0.1:0", "0.0.0.0:0") + ACCESS
    (tmp_path / "bench.toml").write_text(text)
    return load_config(tmp_path / "bench.toml")


def test_it_answers_over_tls(loaded):
    journal = Journal.open(loaded.data, now=counted_time(), new_id=counted_ids())
    with contextlib.closing(journal), contextlib.closing(listening(loaded.address)) as port:
        service = build(loaded, journal)
        service.doors = doors_of(loaded)
        token = service.doors.tokens.add("invented", [Scope.READ], "2026-11-25")
        server = server_for(service, loaded.config.access, loaded.folder)
        thread = threading.Thread(target=server.run, kwargs={"sockets": [port]})
        thread.start()
        while not server.started:
            time.sleep(0.01)
        trusted = ssl.create_default_context(cafile=loaded.folder / "bench.crt")
        address = f"https://127.0.0.1:{port.getsockname()[1]}/api/v1/health"
        with httpx.Client(verify=trusted) as client:
            answer = client.get(address, headers={"authorization": f"Bearer {token}"})
        server.should_exit = True
        thread.join()
    assert answer.status_code == 200


def test_a_certificate_that_is_none_is_a_sentence(loaded, service):
    (loaded.folder / "bench.crt").write_text("none")
    with pytest.raises(ServeError, match=r"certificate and key of \[access\] cannot be used"):
        server_for(service, loaded.config.access, loaded.folder)
