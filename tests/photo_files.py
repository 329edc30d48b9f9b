"""Files that a painter may drop as a photo: whole ones, huge ones, odd ones."""

import struct
import zlib

import cv2
import numpy as np


def jpeg(shade: int = 90) -> bytes:
    """One plain colour, 320 pixels wide and 240 high."""
    ok, data = cv2.imencode(".jpg", np.full((240, 320, 3), shade, np.uint8))
    assert ok
    return data.tobytes()


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def png_of(width: int, height: int) -> bytes:
    """A PNG (W3C) that says it is so large, and holds nothing."""
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    ends = _chunk(b"IDAT", zlib.compress(b"")) + _chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + _chunk(b"IHDR", head) + ends


def exif(orientation: int) -> bytes:
    """A JPEG whose Exif block tells this orientation (Exif 2.3, tag 0x0112)."""
    tiff = b"II*\0\x08\0\0\0" + struct.pack("<HHHII", 1, 0x0112, 3, 1, orientation) + b"\0\0\0\0"
    body = b"Exif\0\0" + tiff
    plain = jpeg()
    return plain[:2] + b"\xff\xe1" + struct.pack(">H", len(body) + 2) + body + plain[2:]
