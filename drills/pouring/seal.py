"""What is in a glass, sealed: it keeps an honest taster blind, and nobody else out. Pure.

Whoever has the database has the seal beside it. What this is for is that nobody reads an identity
by accident: not in the app, not in an export, not when browsing the file.
"""

from __future__ import annotations

import base64
import hashlib
import json
import zlib
from collections.abc import Mapping
from typing import Any

# Contents of one length look alike: a short name is not told from a long one.
_BLOCK = 256


def sealed(content: Mapping[str, Any], seal: str) -> str:
    """The content as a text in which nothing of it can be read at a glance."""
    packed = zlib.compress(json.dumps(dict(content)).encode("ascii"))
    framed = len(packed).to_bytes(4, "big") + packed
    framed += bytes(-len(framed) % _BLOCK)
    return base64.b64encode(_veiled(framed, seal)).decode("ascii")


def opened(text: str, seal: str) -> dict[str, Any]:
    """The content of a sealed text.

    Raises:
        ValueError: the text was not sealed with this seal, or is damaged.
    """
    try:
        framed = _veiled(base64.b64decode(text, validate=True), seal)
        length = int.from_bytes(framed[:4], "big")
        content = json.loads(zlib.decompress(framed[4 : 4 + length]))
    except (zlib.error, ValueError) as error:
        raise ValueError("the sealed key of this glass is damaged") from error
    if not isinstance(content, dict):
        raise ValueError("the sealed key of this glass is damaged")
    return content


def mark_of(seal: str, code: int) -> str:
    """What tells a pour of this glass from every other pour, however its note came in."""
    return hashlib.sha256(f"glass {code} of {seal}".encode()).hexdigest()


def _veiled(data: bytes, seal: str) -> bytes:
    """The data laid over with bytes that follow from the seal; twice gives it back."""
    stream = bytearray()
    block = 0
    while len(stream) < len(data):
        stream += hashlib.sha256(f"{seal} {block}".encode()).digest()
        block += 1
    return bytes(a ^ b for a, b in zip(data, stream, strict=False))
