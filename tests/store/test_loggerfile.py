"""A file that grows gives each whole line once, however it grows and in whatever encoding."""

import codecs
import os
from pathlib import Path
from tempfile import TemporaryDirectory
from unittest.mock import patch

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchtool.store import loggerfile
from benchtool.store.files import NotOrdinary
from benchtool.store.loggerfile import NoLines, Tail, cells, column_names, read_all, why_not_read

LAW = settings(max_examples=150, deadline=None, derandomize=True, database=None)

ENCODINGS = {
    "utf-8": b"",
    "utf-8-sig": b"",
    "cp1252": b"",
    "utf-16-le": codecs.BOM_UTF16_LE,
    "utf-16-be": codecs.BOM_UTF16_BE,
}

# A Gurmukhi letter whose UTF-16 has the byte of a line's end in it, across two characters or within one.
TEXT = st.text(st.sampled_from("abc;,5 °\u0a0a\u0a00\U0001f321"), max_size=12)


def append(path: Path, data: bytes) -> None:
    with path.open("ab") as file:
        file.write(data)


def drain(tail: Tail) -> list[str]:
    lines: list[str] = []
    more = True
    while more:
        piece = tail.read()
        lines += piece.lines
        more = piece.more
    return lines


@LAW
@given(
    lines=st.lists(TEXT, min_size=1, max_size=8),
    encoding=st.sampled_from(sorted(ENCODINGS)),
    ending=st.sampled_from(["\n", "\r\n"]),
    cuts=st.lists(st.integers(0, 300), max_size=6),
    chunk=st.sampled_from([64, 4096]),
)
def test_lines_come_once_however_the_file_grew(lines, encoding, ending, cuts, chunk):
    text = "".join(f"time{line}{ending}" for line in lines)
    if encoding == "cp1252":
        text = text.replace("\u0a0a", "ä").replace("\u0a00", "ö").replace("\U0001f321", "ü")
    data = ENCODINGS[encoding] + text.encode(encoding)
    with TemporaryDirectory() as folder, patch.object(loggerfile, "CHUNK", chunk):
        path = Path(folder, "log.csv")
        path.touch()
        tail, got, before = Tail(path), [], 0
        for cut in [*sorted(cuts), len(data)]:
            append(path, data[before:cut])
            before = max(before, min(cut, len(data)))
            got += drain(tail)
        assert got == text.replace("\r", "").split("\n")[:-1]
        assert drain(tail) == []


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be"])
def test_utf_16_needs_no_byte_order_mark(tmp_path, encoding):
    path = tmp_path / "log.csv"
    path.write_bytes("Zeit;°C\n".encode(encoding))
    assert drain(Tail(path)) == ["Zeit;°C"]


def test_a_half_written_line_waits(tmp_path):
    path = tmp_path / "log.csv"
    tail = Tail(path)
    append(path, b"whole\nha")
    assert drain(tail) == ["whole"]
    append(path, b"lf")
    assert drain(tail) == []
    append(path, b"\n")
    assert drain(tail) == ["half"]


def test_a_line_reads_the_same_beside_one_of_another_encoding(tmp_path):
    path = tmp_path / "log.csv"
    path.write_bytes("ä°\n".encode() + "ä°\n".encode("cp1252"))
    assert drain(Tail(path)) == ["ä°", "ä°"]


@pytest.mark.parametrize("now", [b"new\n", b"other first line\nand more\n", b"first line\nsecone\nthird\n"])
def test_a_truncated_or_replaced_file_is_read_anew(tmp_path, now):
    path = tmp_path / "log.csv"
    path.write_bytes(b"first line\nsecond\n")
    tail = Tail(path)
    assert not tail.read().anew
    path.write_bytes(now)
    piece = tail.read()
    assert piece.anew
    assert piece.lines == now.decode().splitlines()
    assert not tail.read().anew


def test_a_file_with_the_same_long_head_is_told_apart_where_it_was_read_last(tmp_path):
    head = b"a long head of its maker\n" * 40
    path = tmp_path / "log.csv"
    path.write_bytes(head + b"one\n")
    tail = Tail(path)
    tail.read()
    path.write_bytes(head + b"two\nand more\n")
    assert tail.read().anew


def test_a_file_written_anew_with_the_same_start_goes_on(tmp_path):
    path = tmp_path / "log.csv"
    path.write_bytes(b"first line\nsecond\n")
    tail = Tail(path)
    tail.read()
    path.unlink()
    with pytest.raises(FileNotFoundError):
        tail.read()
    path.write_bytes(b"first line\nsecond\nthird\n")
    piece = tail.read()
    assert (piece.lines, piece.anew) == (["third"], False)


def test_what_has_no_lines_is_refused_and_not_held_in_memory(tmp_path):
    path = tmp_path / "picture"
    path.write_bytes(b"\x89PNG" * (loggerfile.CHUNK // 2))
    with pytest.raises(NoLines, match="no lines"):
        Tail(path).read()


def test_a_pipe_is_not_waited_for_and_a_folder_is_none(tmp_path):
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe")
        with pytest.raises(NotOrdinary):
            Tail(tmp_path / "pipe").read()
    with pytest.raises(IsADirectoryError):
        Tail(tmp_path).read()


def test_nuls_and_inner_byte_order_marks_are_dropped(tmp_path):
    path = tmp_path / "log.csv"
    path.write_bytes(b"\xef\xbb\xbfone\n\0\0\0two\n\xef\xbb\xbfthree\n")
    assert drain(Tail(path)) == ["one", "two", "three"]


def test_read_all_gives_the_whole_file(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text("".join(f"line {i}\n" for i in range(1000)), encoding="utf-8")
    with patch.object(loggerfile, "CHUNK", 512):
        pieces = list(read_all(path))
    assert len(pieces) > 3
    assert [line for lines in pieces for line in lines] == [f"line {i}" for i in range(1000)]


@pytest.mark.parametrize(
    ("line", "parted"),
    [
        ("a;b;c", ["a", "b", "c"]),
        ('"a;b";"21,5"', ["a;b", "21,5"]),
        ('a; "b"', ["a", "b"]),
        ('a;"left open;c', ["a", "left open;c"]),
        ("", [""]),
        ('"' + "x" * 200_000 + ";y", ['"' + "x" * 200_000, "y"]),
    ],
)
def test_cells(line, parted):
    assert cells(line, ";") == parted


def test_each_column_has_a_name_of_its_own():
    assert column_names(["Time", " Temp  C", "Temp C", "", "RH"]) == ("Time", "Temp C (2)", "Temp C (3)", "(4)", "RH")


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        (FileNotFoundError(), "not there"),
        (PermissionError(), "locked"),
        (IsADirectoryError(), "folder"),
        (NotOrdinary(), "no ordinary file"),
        (OSError(5, "Input/output error"), "Input/output error"),
        (NoLines("x"), "no lines"),
        (ValueError("embedded null byte"), "name"),
    ],
)
def test_why_not_read(fault, words):
    assert words in why_not_read(fault)
