"""What text may enter the record, how doubtful text is made visible, and how a message puts it.

Text from people and files is untrusted: a control sequence could drive the reviewer's
terminal, an override character could make a label read as another one (CVE-2021-42574).
"""

from __future__ import annotations

import re
import unicodedata

MAX_LENGTH = 500  # characters in one cell of text

# Control, bidirectional, zero-width and separator characters, surrogates and noncharacters.
_UNSAFE = re.compile(
    "[\x00-\x1f\x7f-\x9f\u00ad\u034f\u061c\u115f\u1160\u17b4\u17b5\u180b-\u180f\u200b-\u200f"
    "\u2028-\u202e\u2060-\u206f\u3164\ufeff\uffa0\ufff0-\ufffb\ufffe\uffff"
    "\ud800-\udfff\ufdd0-\ufdef"
    "\U0001bca0-\U0001bca3\U0001d173-\U0001d17a\U000e0000-\U000e0fff"
    + "".join(f"{chr(plane * 0x10000 + 0xFFFE)}{chr(plane * 0x10000 + 0xFFFF)}" for plane in range(1, 17))
    + "]"
)
# A base character may carry a few marks; a flood of them paints over neighbouring lines.
_MAX_MARKS = 4
_FLOOD = re.compile(f"(?:M[ne]){{{_MAX_MARKS + 1}}}")  # in categories, of two letters each
_FORMULA_START = "=+-@＝＋－＠'"


def is_clean(text: str) -> bool:
    """True where ``text`` holds nothing that must be shown as a code."""
    return _UNSAFE.search(text) is None and not _has_mark_flood(text)


def refusal(text: str, *, max_length: int = MAX_LENGTH) -> str | None:
    """Why ``text`` may not enter the record, or None where it may."""
    if not (text.isascii() and text.isprintable()):  # nearly every cell is, and no search is wanted
        found = _UNSAFE.search(text)
        if found is not None:
            return f"character {_code(found.group())} is not allowed"
        if _has_mark_flood(text):
            return f"more than {_MAX_MARKS} combining marks on one character"
    if len(text) > max_length:
        return f"{len(text)} characters; at most {max_length} are allowed"
    return None


def normal(text: str) -> str:
    """The composed form (Unicode NFC) in which text is stored, outer white space removed."""
    return unicodedata.normalize("NFC", text).strip()


def is_same_name(one: str, other: str) -> bool:
    """Whether two names or stamps are the same to a reader: case, width and white space aside.

    Compared are the compatibility forms (Unicode NFKC) with case folded: wide letters are the plain ones.
    """
    return _as_name(one) == _as_name(other)


def _as_name(text: str) -> str:
    # Folding may part what was composed, and composing may bring up a letter to fold.
    folded = unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", text).casefold())
    return " ".join(_UNSAFE.sub(" ", folded).casefold().split())


def visible(text: str) -> str:
    """``text`` with every unsafe character replaced by a visible code such as ``\\u{1b}``."""
    if is_clean(text):
        return text
    shown = _UNSAFE.sub(lambda found: _code(found.group()), text)
    return _thin_marks(shown)


def quoted(text: str, length: int = 40) -> str:
    """The first ``length`` characters of ``text`` in quotes, for a message; unsafe ones made visible."""
    return f"'{visible(text[:length])}'"


def counted(count: int, word: str, words: str = "") -> str:
    """``1 point``, ``3 points``; ``words`` where more than one of them is no ``word`` with an s."""
    return f"{count} {word if count == 1 else words or word + 's'}"


def neutral(text: str) -> str:
    """``text`` as a CSV cell that no spreadsheet runs as a formula (CWE-1236).

    One apostrophe is put before a cell that starts like a formula or with an apostrophe,
    so that :func:`plain` can take it off again without loss.
    """
    return "'" + text if text[:1] and text[0] in _FORMULA_START else text


def plain(cell: str) -> str:
    """The text behind a cell written by :func:`neutral`."""
    return cell[1:] if len(cell) > 1 and cell[0] == "'" and cell[1] in _FORMULA_START else cell


def _code(character: str) -> str:
    return f"\\u{{{ord(character):x}}}"


def _has_mark_flood(text: str) -> bool:
    if text.isascii():
        return False
    return _FLOOD.search("".join(map(unicodedata.category, text))) is not None


def _thin_marks(text: str) -> str:
    if not _has_mark_flood(text):
        return text
    kept: list[str] = []
    run = 0
    for character in text:
        run = run + 1 if unicodedata.category(character) in ("Mn", "Me") else 0
        kept.append(_code(character) if run > _MAX_MARKS else character)
    return "".join(kept)
