"""What the computer itself must bring: libraries, a font, a screen."""

import os
import socket
import sys
from pathlib import Path

import pytest

LDD = """\
\tlinux-vdso.so.1 (0x00007ffd)
\tlibQt6Gui.so.6 => /home/anna/Größe 1/.venv/lib/libQt6Gui.so.6 (0x00007f01)
\tlibEGL.so.1 => not found
\tlibX11.so.6 => /lib/x86_64-linux-gnu/libX11.so.6 (0x00007f02)
\tlibEGL.so.1 => not found
\t/lib64/ld-linux-x86-64.so.2 (0x00007f03)
"""

posix = pytest.mark.skipif(os.name != "posix", reason="about POSIX systems")


def test_reading_what_the_loader_finds(scripts):
    missing, found = scripts.machine.read_ldd(LDD)
    assert missing == {"libEGL.so.1"}
    assert found == {"/home/anna/Größe 1/.venv/lib/libQt6Gui.so.6", "/lib/x86_64-linux-gnu/libX11.so.6"}


@pytest.mark.parametrize(
    ("soname", "package"),  # as `dpkg -S` gives them on Debian 12
    [
        ("libEGL.so.1", "libegl1"),
        ("libGL.so.1", "libgl1"),
        ("libGLX.so.0", "libglx0"),
        ("libGLdispatch.so.0", "libglvnd0"),
        ("libOpenGL.so.0", "libopengl0"),
        ("libxkbcommon.so.0", "libxkbcommon0"),
        ("libxkbcommon-x11.so.0", "libxkbcommon-x11-0"),
        ("libxcb-cursor.so.0", "libxcb-cursor0"),
        ("libxcb-icccm.so.4", "libxcb-icccm4"),
        ("libxcb-render-util.so.0", "libxcb-render-util0"),
        ("libX11.so.6", "libx11-6"),
        ("libX11-xcb.so.1", "libx11-xcb1"),
        ("libdbus-1.so.3", "libdbus-1-3"),
        ("libfontconfig.so.1", "libfontconfig1"),
        ("libglib-2.0.so.0", "libglib2.0-0"),
        ("libgthread-2.0.so.0", "libglib2.0-0"),
        ("libgssapi_krb5.so.2", "libgssapi-krb5-2"),
        ("libpulse.so.0", "libpulse0"),
    ],
)
def test_debians_package_of_a_library(scripts, soname, package):
    assert scripts.machine.debian_package(soname) == package


@pytest.mark.parametrize(
    ("text", "family"),
    [
        ("ID=debian\n", "debian"),
        ('ID=linuxmint\nID_LIKE="ubuntu debian"\n', "debian"),
        ('ID="rocky"\nID_LIKE="rhel centos fedora"\n', "fedora"),
        ("ID=manjaro\nID_LIKE=arch\n", "arch"),
        ('ID="opensuse-leap"\nID_LIKE="suse opensuse"\n', "suse"),
        ("ID=void\n", ""),
        ("", ""),
    ],
)
def test_the_family_of_a_distribution(scripts, text, family):
    assert scripts.machine.family(text) == family


MISSING = {"libEGL.so.1", "libxcb-cursor.so.0", "font"}


@pytest.mark.parametrize(
    ("family", "command"),
    [
        ("debian", "sudo apt-get install -y fonts-dejavu-core libegl1 libxcb-cursor0"),
        (
            "fedora",
            "sudo dnf install -y dejavu-sans-fonts 'libEGL.so.1()(64bit)' 'libxcb-cursor.so.0()(64bit)'",
        ),
        ("arch", "sudo pacman -S --needed ttf-dejavu libglvnd xcb-util-cursor"),
    ],
)
def test_missing_libraries_are_said_with_the_command(scripts, started, monkeypatch, family, command):
    monkeypatch.setattr(scripts.machine, "is_root", lambda: False)
    monkeypatch.setattr(scripts.machine, "_apt_has_lists", lambda: True)
    assert scripts.machine.missing_sentence(MISSING, "The window", family) == (
        f"The window needs a font, libEGL.so.1, libxcb-cursor.so.0: run `{command}`, then `{started}`."
    )


def test_on_an_unknown_system_the_sentence_still_names_what_is_missing(scripts, started):
    assert scripts.machine.missing_sentence({"libEGL.so.1"}, "The window", "") == (
        f"The window needs libEGL.so.1: install the packages of your system that hold it, then run `{started}`."
    )


def test_a_system_without_package_lists_fetches_them_first(scripts, monkeypatch):
    monkeypatch.setattr(scripts.machine, "is_root", lambda: False)
    monkeypatch.setattr(scripts.machine, "_apt_has_lists", lambda: False)
    assert scripts.machine.install_command(["xvfb"], "debian") == (
        "sudo apt-get update && sudo apt-get install -y xvfb"
    )


@pytest.mark.parametrize(
    ("environ", "plugins"),
    [
        ({"DISPLAY": ":0"}, ["xcb"]),
        ({"WAYLAND_DISPLAY": "wayland-0"}, ["wayland"]),
        ({"DISPLAY": ":0", "WAYLAND_DISPLAY": "wayland-0"}, ["xcb", "wayland"]),
        ({"DISPLAY": ":0", "QT_QPA_PLATFORM": "offscreen"}, ["offscreen"]),
        ({"QT_QPA_PLATFORM": "wayland;xcb:x=1"}, ["wayland", "xcb"]),
        ({}, []),
    ],
)
def test_the_plugins_that_would_do(scripts, environ, plugins):
    assert scripts.machine.platforms(environ) == plugins


def test_a_screen_or_none(scripts, monkeypatch):
    answers = {":0"}
    monkeypatch.setattr(scripts.machine, "display_answers", lambda display: display in answers)

    def reason(system="linux", **environ):
        return scripts.machine.no_screen(environ, system)

    assert reason(DISPLAY=":0") is None
    assert reason() == "There is no screen here (neither DISPLAY nor WAYLAND_DISPLAY is set)"
    assert reason(DISPLAY="") == reason()
    assert reason(DISPLAY=":5") == "The screen :5 does not answer"
    assert reason(QT_QPA_PLATFORM="offscreen") is None
    assert reason("darwin") is None
    assert reason("win32") is None


def test_a_wayland_screen_is_a_socket_that_is_there(scripts, tmp_path):
    def reason():
        environ = {"WAYLAND_DISPLAY": "wayland-0", "XDG_RUNTIME_DIR": str(tmp_path)}
        return scripts.machine.no_screen(environ, "linux")

    assert reason() == "The screen wayland-0 does not answer"
    (tmp_path / "wayland-0").touch()
    assert reason() is None


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="abstract sockets are Linux's")
def test_a_display_answers_while_something_listens(scripts):
    number = 20000 + os.getpid() % 20000
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as server:
        server.bind(f"\0/tmp/.X11-unix/X{number}")
        server.listen()
        assert scripts.machine.display_answers(f":{number}.0")
    assert not scripts.machine.display_answers(f":{number}.0")


@posix
def test_a_font_in_the_users_own_folder_counts(scripts, tmp_path):
    assert scripts.machine.find_font({"XDG_DATA_HOME": str(tmp_path)}) != str(tmp_path / "fonts" / "a.TTF")
    (tmp_path / "fonts").mkdir()
    (tmp_path / "fonts" / "a.TTF").touch()
    assert scripts.machine.find_font({"XDG_DATA_HOME": str(tmp_path)}) == str(tmp_path / "fonts" / "a.TTF")


def test_the_qt_modules_come_from_the_source(scripts):
    source = (
        "from PySide6.QtGui import QColor\n"
        "from PySide6 import QtCore, QtSvg\n"
        "from PySide6 import (\n    QtWidgets,\n    QtMultimedia as sound,\n)\n"
        "import PySide6.QtPrintSupport\n"
        "from QtElse import x\n"
    )
    assert scripts.window.qt_imports(source) == {
        "QtCore",
        "QtGui",
        "QtMultimedia",
        "QtPrintSupport",
        "QtSvg",
        "QtWidgets",
    }


class Place:
    """As much of an environment as the look at the window needs."""

    def __init__(self, root):
        self.root = str(root)
        self.folder = str(root / ".venv")
        self.python = sys.executable

    def stamp(self):
        return {"python": "3.11", "tool": "one"}

    def site_packages(self, _version):
        return str(Path(self.folder) / "site")


@pytest.fixture
def look(scripts, monkeypatch, tmp_path):
    """A look at a system where `lacks` says what each library misses, and every library exists as a file."""
    (tmp_path / ".venv").mkdir()
    (tmp_path / "pyproject.toml").touch()
    there = tmp_path / "libX11.so.6"
    there.touch()
    lacks = {"QtWidgets.abi3.so": set(), "libqxcb.so": set(), "libqwayland.so": set()}
    looks = []

    def shared_libraries(path):
        name = Path(path).name
        looks.append(name)
        return set(lacks[name]), {str(there)}

    monkeypatch.setattr(scripts.machine, "shared_libraries", shared_libraries)
    monkeypatch.setattr(scripts.machine, "find_font", lambda environ: str(there))
    monkeypatch.setattr(scripts.machine, "can_install", lambda: False)
    monkeypatch.setattr(scripts.window.Window, "_import", lambda self: None)
    monkeypatch.setattr(scripts.window.sys, "platform", "linux")

    def run(**environ):
        looks.clear()
        scripts.window.Window(Place(tmp_path), environ).check()
        return list(looks)

    run.lacks, run.there = lacks, there
    return run


def test_a_second_start_does_not_look_again(look):
    assert look(DISPLAY=":0") == ["QtWidgets.abi3.so", "libqxcb.so"]
    assert look(DISPLAY=":0") == []


def test_it_looks_again_when_a_library_is_gone_or_the_screen_is_another(look):
    look(DISPLAY=":0")
    assert look(WAYLAND_DISPLAY="w") == ["QtWidgets.abi3.so", "libqwayland.so"]
    look.there.unlink()
    assert look(WAYLAND_DISPLAY="w") != []


def test_a_missing_library_stops_the_start(scripts, look):
    look.lacks["libqxcb.so"] = {"libxcb-cursor.so.0"}
    with pytest.raises(scripts.trouble.Trouble, match=r"The window needs libxcb-cursor\.so\.0: "):
        look(DISPLAY=":0")


@pytest.mark.parametrize("plugin", ["libqxcb.so", "libqwayland.so"])
def test_one_working_kind_of_screen_is_enough(look, plugin):
    look.lacks[plugin] = {"libsome.so.0"}
    look(DISPLAY=":0", WAYLAND_DISPLAY="w")


def test_root_on_debian_installs_what_is_missing(scripts, look, monkeypatch):
    installed = []

    def install(names, log):
        installed.extend(names)
        look.lacks["QtWidgets.abi3.so"] = set()

    monkeypatch.setattr(scripts.machine, "can_install", lambda: True)
    monkeypatch.setattr(scripts.machine, "install", install)
    monkeypatch.setattr(Place, "log", None, raising=False)
    look.lacks["QtWidgets.abi3.so"] = {"libEGL.so.1"}
    look(DISPLAY=":0")
    assert installed == ["libegl1"]
