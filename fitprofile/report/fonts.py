"""What fonts this machine has, asked of fontconfig itself: none at all, or none for a character."""

from __future__ import annotations

import ctypes
from collections.abc import Iterable
from contextlib import suppress
from functools import cache
from unicodedata import category

LIBRARIES = ("libfontconfig.so.1", "libfontconfig.1.dylib", "libfontconfig-1.dll")

UNSEEN = ("C", "Z", "M")
"""Categories of characters that need no glyph of their own: control, space, combining."""

ASCII = 128


class _FontSet(ctypes.Structure):
    """``FcFontSet`` of fontconfig's public header."""

    _fields_ = (
        ("nfont", ctypes.c_int),
        ("sfont", ctypes.c_int),
        ("fonts", ctypes.c_void_p),
    )


@cache
def _fontconfig() -> ctypes.CDLL | None:
    """The library with the few functions used here, ``None`` where there is none."""
    for name in LIBRARIES:
        with suppress(OSError):
            library = ctypes.CDLL(name)
            break
    else:
        return None
    pointer = ctypes.c_void_p
    for function, result, arguments in (
        ("FcPatternCreate", pointer, ()),
        ("FcPatternDestroy", None, (pointer,)),
        ("FcPatternAddCharSet", ctypes.c_int, (pointer, ctypes.c_char_p, pointer)),
        ("FcCharSetCreate", pointer, ()),
        ("FcCharSetDestroy", None, (pointer,)),
        ("FcCharSetAddChar", ctypes.c_int, (pointer, ctypes.c_uint32)),
        ("FcObjectSetCreate", pointer, ()),
        ("FcObjectSetDestroy", None, (pointer,)),
        ("FcFontList", ctypes.POINTER(_FontSet), (pointer, pointer, pointer)),
        ("FcFontSetDestroy", None, (ctypes.POINTER(_FontSet),)),
    ):
        entry = getattr(library, function)
        entry.restype, entry.argtypes = result, arguments
    return library


def count_fonts(character: str = "") -> int | None:
    """How many fonts there are, or how many hold a character.

    Returns
    -------
    int or None
        ``None`` where fontconfig cannot be asked.
    """
    library = _fontconfig()
    if library is None:
        return None
    pattern, objects = library.FcPatternCreate(), library.FcObjectSetCreate()
    wanted = library.FcCharSetCreate()
    if character:
        library.FcCharSetAddChar(wanted, ord(character))
        library.FcPatternAddCharSet(pattern, b"charset", wanted)
    found = library.FcFontList(None, pattern, objects)
    count = found.contents.nfont if found else 0
    if found:
        library.FcFontSetDestroy(found)
    library.FcCharSetDestroy(wanted)
    library.FcObjectSetDestroy(objects)
    library.FcPatternDestroy(pattern)
    return int(count)


def without_glyph(words: Iterable[str]) -> tuple[str, ...]:
    """Characters that no font of this machine holds, each once, in order of appearance.

    Empty where fontconfig cannot be asked.
    """
    seen = dict.fromkeys(char for word in words for char in word if ord(char) >= ASCII)
    shown = (char for char in seen if category(char)[0] not in UNSEEN)
    return tuple(char for char in shown if count_fonts(char) == 0)
