"""What a window may say on the live channel: a small JSON object, or one sentence against it."""

from __future__ import annotations

import json
from typing import Any, Never

from fastapi import WebSocket, WebSocketDisconnect

from pondwright.base.errors import DocumentError
from pondwright.server.arrays import Wish
from pondwright.server.frames import NAMES

LONGEST_MESSAGE = 2 * 1024 * 1024
LONGEST_SECTION = 200
FARTHEST = 1e9
LONGEST_WORD = 80

Message = dict[str, Any]


async def heard(socket: WebSocket) -> tuple[Message, bool]:
    """Next message of a window, and whether it is too long to be acted on.

    Raises
    ------
    WebSocketDisconnect
        If the window has gone.
    DocumentError
        If it said something else than a JSON object.
    """
    event = await socket.receive()
    if event["type"] == "websocket.disconnect":
        raise WebSocketDisconnect(event.get("code", 1005))
    text = event.get("text")
    if text is None:
        raise DocumentError("a message must be text")
    return read_message(text), len(text) > LONGEST_MESSAGE


def read_message(text: str) -> Message:
    """JSON object of a message, without NaN, and with text that can be written again.

    Raises
    ------
    DocumentError
        In one sentence that says what is wrong.
    """
    try:
        message = json.loads(text, parse_constant=_refuse_constant)
        if "\\u" in text:
            json.dumps(message, ensure_ascii=False).encode()  # half a character cannot be kept
    except (ValueError, RecursionError):
        raise DocumentError("a message must be JSON, without NaN and without halves of characters") from None
    if not isinstance(message, dict):
        raise DocumentError("a message must be a JSON object")
    return message


def too_long(kind: str) -> DocumentError:
    """Refusal of a message that is too long."""
    return DocumentError(f"{kind} must be at most {LONGEST_MESSAGE // 2**20} million characters long")


def read_wish(message: Message) -> Wish:
    """What a window wants to see.

    Raises
    ------
    DocumentError
        If it has not the form of a wish.
    """
    seq, lod, names = message.get("seq"), message.get("lod", 1), message.get("want", [])
    if not is_count(seq):
        raise DocumentError("`seq` must be a whole number from 0")
    if not is_count(lod) or lod not in (1, 2):
        raise DocumentError("`lod` must be 1 or 2")
    if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
        raise DocumentError("`want` must be a list of names")
    return Wish(seq, lod, NAMES & frozenset(names), _section(message), at_rest=message.get("ops") is None)  # type: ignore[arg-type]


def is_count(value: object) -> bool:
    """Whether a value is a whole number from 0 (and not a truth value, which Python counts as one)."""
    return isinstance(value, int) and not isinstance(value, bool) and value >= 0


def word(message: Message, name: str) -> str:
    """A short text of a message; empty where there is none."""
    found = message.get(name, "")
    return found[:LONGEST_WORD] if isinstance(found, str) else ""


def _section(message: Message) -> tuple[tuple[float, float], ...]:
    section = message.get("section")
    if section is None:
        return ()
    points = section.get("points") if isinstance(section, dict) else None
    if not isinstance(points, list) or len(points) > LONGEST_SECTION:
        raise DocumentError(f"`section` must have a list of at most {LONGEST_SECTION} points")
    return tuple(_point(point) for point in points)


def _point(point: object) -> tuple[float, float]:
    numbers = point if isinstance(point, list) else []
    if len(numbers) != 2 or not all(map(_is_near, numbers)):
        raise DocumentError("a point of `section` must be [east, north] in metres")
    return float(numbers[0]), float(numbers[1])


def _is_near(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < FARTHEST


def _refuse_constant(word: str) -> Never:
    raise ValueError(word)
