"""Passkeys by W3C Web Authentication: what a browser is asked, and whether its answer holds. The
only home of the library that does it, which is of an extra and imported where it is used."""

from __future__ import annotations

import json
from typing import Any, NamedTuple

from fleetcare.errors import needs

_WAITS = 5 * 60 * 1000  # milliseconds, in which a device is to answer
_LONGEST_KEY = 2048  # octets; the longest in use are of some 600: common practice, no source
_LONGEST_ID = 1023  # octets (Web Authentication level 2, 4: from memory)


class Unheld(Exception):
    """What a device answered is not what it was asked."""


class At(NamedTuple):
    """How the pages are reached: the name that a passkey is for, and the whole of it."""

    host: str
    origin: str


class Answer(NamedTuple):
    """What a device answered, as its browser sends it: each in base64url."""

    id: str
    client: str  # what the browser signed for: the challenge, and where it was
    data: str  # of the device, about itself and the key
    signature: str = ""
    whose: str = ""


class Key(NamedTuple):
    """A key that a device made: by what it is found, its public half, and how often it was used."""

    id: str
    key: str
    uses: int


def _library() -> Any:
    with needs("webauthn", "web"):
        import webauthn

    return webauthn


def to_add(at: At, who: tuple[str, str], challenge: str, others: list[str]) -> str:
    """What a browser is asked for a new key of somebody (name, handle), none of these others being
    on the device already; as JSON."""
    library = _library()
    from webauthn.helpers import structs

    name, handle = who
    chosen = structs.AuthenticatorSelectionCriteria(
        resident_key=structs.ResidentKeyRequirement.REQUIRED,
        user_verification=structs.UserVerificationRequirement.REQUIRED,
    )
    read = library.base64url_to_bytes
    made = library.generate_registration_options(
        rp_id=at.host, rp_name="fleetcare", user_name=name, user_id=read(handle),
        challenge=read(challenge), timeout=_WAITS, authenticator_selection=chosen,
        exclude_credentials=[structs.PublicKeyCredentialDescriptor(id=read(o)) for o in others],
    )  # fmt: skip
    return str(library.options_to_json(made))


def to_come_in(at: At, challenge: str) -> str:
    """What a browser is asked for a key that it has, whosever; as JSON."""
    library = _library()
    from webauthn.helpers.structs import UserVerificationRequirement

    made = library.generate_authentication_options(
        rp_id=at.host, challenge=library.base64url_to_bytes(challenge), timeout=_WAITS,
        user_verification=UserVerificationRequirement.REQUIRED,
    )  # fmt: skip
    return str(library.options_to_json(made))


def added(at: At, challenge: str, answer: Answer) -> Key:
    """The key that a device made as it was asked. Unheld where it is another, or is made for
    somewhere else, or whoever holds the device was not asked to show that it is theirs."""
    library = _library()
    response = {"clientDataJSON": answer.client, "attestationObject": answer.data}
    made = _held(
        library.verify_registration_response, answer, response, expected_rp_id=at.host,
        expected_origin=at.origin, expected_challenge=library.base64url_to_bytes(challenge),
    )  # fmt: skip
    write = library.helpers.bytes_to_base64url
    if write(made.credential_id) != answer.id or len(made.credential_id) > _LONGEST_ID:
        raise Unheld
    _hold_to_key(made.credential_public_key)
    return Key(answer.id, write(made.credential_public_key), int(made.sign_count))


def _hold_to_key(key: bytes) -> None:
    """Unheld where it is no key that a signature could be held to, or longer than any."""
    from cryptography.exceptions import UnsupportedAlgorithm
    from webauthn.helpers import decode_credential_public_key, decoded_public_key_to_cryptography
    from webauthn.helpers.exceptions import WebAuthnException

    if len(key) > _LONGEST_KEY:
        raise Unheld
    try:
        decoded_public_key_to_cryptography(decode_credential_public_key(key))
    except (WebAuthnException, UnsupportedAlgorithm, ValueError, TypeError, KeyError) as fault:
        raise Unheld from fault


def used(at: At, challenge: str, key: str, answer: Answer) -> int:
    """How often a key says that it was used, which signed what was asked. Unheld as above."""
    library = _library()
    response = {
        "clientDataJSON": answer.client, "authenticatorData": answer.data,
        "signature": answer.signature, "userHandle": answer.whose,
    }  # fmt: skip
    found = _held(
        library.verify_authentication_response, answer, response, expected_rp_id=at.host,
        expected_origin=at.origin, expected_challenge=library.base64url_to_bytes(challenge),
        credential_public_key=library.base64url_to_bytes(key), credential_current_sign_count=0,
    )  # fmt: skip
    return int(found.new_sign_count)


def _held(verify: Any, answer: Answer, response: dict[str, str], **expected: Any) -> Any:
    """What comes of holding an answer to what was asked, by somebody who showed that the device is
    theirs, on a page of ours and not within another's."""
    from webauthn.helpers import base64url_to_bytes
    from webauthn.helpers.exceptions import WebAuthnException

    sent = {"id": answer.id, "rawId": answer.id, "type": "public-key", "response": response}
    try:
        found = verify(credential=sent, require_user_verification=True, **expected)
        within = json.loads(base64url_to_bytes(answer.client)).get("crossOrigin")
    except (WebAuthnException, ValueError, TypeError, KeyError, IndexError) as fault:
        raise Unheld from fault
    if within:
        raise Unheld
    return found
