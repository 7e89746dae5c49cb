"""What a `bench.toml` says of who is to be told: [mqtt] and [[webhook]]."""

from typing import Annotated
from urllib.parse import SplitResult, urlsplit

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

MQTT_PORTS = {"mqtt": 1883, "mqtts": 8883}
WEBHOOK_NAMES_TAKEN = {"mqtt"}


def _is_broker(url: str) -> str:
    parts = _parts(url)
    if parts is None or parts.scheme not in MQTT_PORTS or parts.path not in {"", "/"}:
        raise ValueError("has to be mqtt://HOST:PORT, or mqtts:// for TLS, with nothing behind it")
    return url


def _is_target(url: str) -> str:
    parts = _parts(url)
    if parts is None or parts.scheme not in {"http", "https"} or parts.fragment:
        raise ValueError("has to be an address like https://erp.shop:8443/hooks/bench")
    return url


def _parts(url: str) -> SplitResult | None:
    try:
        parts = urlsplit(url)
        _ = parts.port
    except ValueError:
        return None
    # What stands before an @ would be a secret in a file that is shown around.
    return None if not parts.hostname or "@" in parts.netloc else parts


def _is_free(name: str) -> str:
    if name in WEBHOOK_NAMES_TAKEN:
        raise ValueError(f"may not be {name!r}, which names the broker")
    return name


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


File = Annotated[str, Field(min_length=1, max_length=500)]


class MqttTable(_Table):
    """The broker. password_file: holds the password and nothing else; ca: certificates to trust
    instead of the system's. expiry_s: how long the broker keeps an event for somebody away."""

    broker: Annotated[str, AfterValidator(_is_broker)]
    user: Annotated[str, Field(min_length=1, max_length=200)] | None = None
    password_file: File | None = None
    ca: File | None = None
    expiry_s: Annotated[int, Field(ge=1, le=2**31 - 1)] = 7 * 24 * 3600


class WebhookTable(_Table):
    """A receiver by HTTP. secret_file: one `whsec_…` a line; two while the secret is changed."""

    name: Annotated[
        str, Field(min_length=1, max_length=40, pattern=r"^[a-z0-9-]+$"), AfterValidator(_is_free)
    ]
    url: Annotated[str, AfterValidator(_is_target)]
    secret_file: File
