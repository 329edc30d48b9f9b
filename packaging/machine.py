"""What the computer itself must bring: Qt's system libraries, a font, a screen, a few programs."""

import os
import re
import shutil
import subprocess
import sys

from trouble import Trouble, again, is_root, last_words, recognise, say

# Debian names a library's package after its soname (Policy 8.1); these few do not follow.
_DEBIAN_EXCEPTIONS = {
    "libglib-2.0.so.0": "libglib2.0-0",
    "libgthread-2.0.so.0": "libglib2.0-0",
    "libGLdispatch.so.0": "libglvnd0",
    "libz.so.1": "zlib1g",
}

_ARCH = {
    "libEGL": "libglvnd",
    "libGL": "libglvnd",
    "libGLX": "libglvnd",
    "libGLdispatch": "libglvnd",
    "libOpenGL": "libglvnd",
    "libxkbcommon": "libxkbcommon",
    "libxkbcommon-x11": "libxkbcommon-x11",
    "libxcb-cursor": "xcb-util-cursor",
    "libxcb-icccm": "xcb-util-wm",
    "libxcb-image": "xcb-util-image",
    "libxcb-keysyms": "xcb-util-keysyms",
    "libxcb-render-util": "xcb-util-renderutil",
    "libxcb-util": "xcb-util",
    "libX11": "libx11",
    "libX11-xcb": "libx11",
    "libfontconfig": "fontconfig",
    "libfreetype": "freetype2",
    "libdbus-1": "dbus",
    "libglib-2.0": "glib2",
    "libgthread-2.0": "glib2",
    "libpulse": "libpulse",
    "libpulse-mainloop-glib": "libpulse",
    "libwayland-client": "wayland",
    "libwayland-cursor": "wayland",
    "libwayland-egl": "wayland",
}

# What is missing besides libraries, in each family's own package names.
_OTHER = {
    "font": {
        "debian": "fonts-dejavu-core",
        "fedora": "dejavu-sans-fonts",
        "suse": "dejavu-fonts",
        "arch": "ttf-dejavu",
    },
    "Xvfb": {"debian": "xvfb", "fedora": "xorg-x11-server-Xvfb", "suse": "xvfb", "arch": "xorg-server-xvfb"},
    "xdotool": {"debian": "xdotool", "fedora": "xdotool", "suse": "xdotool", "arch": "xdotool"},
}

_INSTALL = {
    "debian": "apt-get install -y",
    "fedora": "dnf install -y",
    "suse": "zypper install -y",
    "arch": "pacman -S --needed",
}

_APT_LISTS = "/var/lib/apt/lists"


def family(os_release=None):
    """Which package manager's family this Linux belongs to: debian, fedora, suse, arch or an empty string."""
    if os_release is None:
        os_release = ""
        for path in ("/etc/os-release", "/usr/lib/os-release"):
            if os.path.isfile(path):
                with open(path, encoding="utf-8", errors="replace") as file:
                    os_release = file.read()
                break
    words = set()
    for key, value in re.findall(r"(?m)^(ID|ID_LIKE)=(.*)$", os_release):
        words.update((key and value).strip("\"'").lower().split())
    for name, members in (
        ("debian", {"debian", "ubuntu"}),
        ("fedora", {"fedora", "rhel", "centos"}),
        ("suse", {"suse", "opensuse", "sles"}),
        ("arch", {"arch", "archlinux"}),
    ):
        if words & members:
            return name
    return ""


def debian_package(soname):
    """Debian's package for a shared library."""
    if soname in _DEBIAN_EXCEPTIONS:
        return _DEBIAN_EXCEPTIONS[soname]
    stem, _, version = soname.partition(".so.")
    stem = stem.lower().replace("_", "-")
    return stem + ("-" if stem[-1:].isdigit() else "") + version


def packages(missing, kind):
    """The `kind` family's packages for missing sonames and other things; unknown ones are left out."""
    names = []
    for thing in sorted(missing):
        if thing in _OTHER:
            name = _OTHER[thing].get(kind)
        elif kind == "debian":
            name = debian_package(thing)
        elif kind in ("fedora", "suse"):
            # rpm installs by what a package provides, so no table of names can go stale here.
            name = "'%s()(64bit)'" % thing
        elif kind == "arch":
            stem = thing.partition(".so.")[0]
            name = _ARCH.get(stem) or ("libxcb" if stem.startswith("libxcb") else None)
        else:
            name = None
        if name and name not in names:
            names.append(name)
    return names


def install_command(names, kind):
    """The exact command that installs these packages."""
    prefix = "" if is_root() else "sudo "
    command = "%s%s %s" % (prefix, _INSTALL[kind], " ".join(names))
    if kind == "debian" and not _apt_has_lists():
        command = "%sapt-get update && %s" % (prefix, command)
    return command


def missing_sentence(missing, purpose, kind=None):
    """One sentence that names what is missing and the command that brings it."""
    kind = family() if kind is None else kind
    things = ", ".join("a font" if thing == "font" else thing for thing in sorted(missing))
    names = packages(missing, kind)
    if not names:
        return "%s needs %s: install the packages of your system that hold it, then run `%s`." % (
            purpose,
            things,
            again(),
        )
    return "%s needs %s: run `%s`, then `%s`." % (purpose, things, install_command(names, kind), again())


def _apt_has_lists():
    try:
        return any(name.endswith(("Packages", "Packages.lz4")) for name in os.listdir(_APT_LISTS))
    except OSError:
        return False


def can_install():
    """Whether the missing packages can be installed here and now, without asking anyone."""
    return is_root() and family() == "debian" and shutil.which("apt-get") is not None


def install(names, log):
    """Install Debian packages as root, fetching the package lists first where they are missing or stale."""
    say("Installing the system packages %s." % " ".join(names))
    environ = dict(os.environ, DEBIAN_FRONTEND="noninteractive", LC_ALL="C")
    command = ["apt-get", "install", "-y", "--no-install-recommends", *names]
    output = ""
    steps = [command] if _apt_has_lists() else []
    for step in [*steps, ["apt-get", "update"], command]:
        done = subprocess.run(
            step,
            env=environ,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            encoding="utf-8",
            errors="replace",
            check=False,
        )
        output += done.stdout
        if step is command and done.returncode == 0:
            return
    log.add(output)
    if recognise(output) == "network":
        raise Trouble(
            "The system packages %s could not be fetched: connect this computer to the network, then run `%s`."
            % (" ".join(names), again())
        )
    raise Trouble(
        "The system packages could not be installed (%s): run `apt-get update && apt-get install -y %s`, then `%s`."
        % (_apt_words(output), " ".join(names), again())
    )


def _apt_words(output):
    lines = [line[2:].strip() for line in output.splitlines() if line.startswith("E:")]
    return last_words(lines[0] if lines else output)


def shared_libraries(path):
    """What a shared library needs: the set of sonames not found, and the paths of those found."""
    if shutil.which("ldd") is None:
        return set(), set()
    done = subprocess.run(
        ["ldd", path],
        env=dict(os.environ, LC_ALL="C"),
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        check=False,
    )
    return read_ldd(os.fsdecode(done.stdout))


def read_ldd(output):
    """The same from ldd's output."""
    missing, found = set(), set()
    for line in output.splitlines():
        name, arrow, target = line.strip().partition(" => ")
        if not arrow:
            continue
        if target.startswith("not found"):
            missing.add(name)
        elif target.startswith("/"):
            found.add(re.sub(r" \(0x[0-9a-f]+\)$", "", target))
    return missing, found


def platforms(environ):
    """Qt's platform plugins that would do for this screen, the likeliest first."""
    asked = environ.get("QT_QPA_PLATFORM", "")
    if asked:
        return [part.partition(":")[0] for part in asked.split(";") if part]
    names = []
    if environ.get("DISPLAY"):
        names.append("xcb")
    if environ.get("WAYLAND_DISPLAY"):
        names.append("wayland")
    return names


def find_font(environ=None):
    """A scalable font that Qt can use, or None."""
    environ = os.environ if environ is None else environ
    home = os.path.expanduser("~")
    folders = [
        os.path.join(environ.get("XDG_DATA_HOME") or os.path.join(home, ".local", "share"), "fonts"),
        os.path.join(home, ".fonts"),
        "/usr/share/fonts",
        "/usr/local/share/fonts",
    ]
    for folder in folders:
        for where, _, names in os.walk(folder):
            for name in names:
                if name.lower().endswith((".ttf", ".otf", ".ttc", ".pfb")):
                    return os.path.join(where, name)
    if shutil.which("fc-list"):
        done = subprocess.run(
            ["fc-list", "--format", "%{file}\n", ":scalable=true"],
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            check=False,
        )
        for path in os.fsdecode(done.stdout).splitlines():
            if os.path.isfile(path):
                return path
    return None


def no_screen(environ=None, system=None):
    """Why no window can open here, as the start of a sentence; None when there is a screen."""
    environ = os.environ if environ is None else environ
    system = system or sys.platform
    if system in ("win32", "cygwin", "darwin") or environ.get("QT_QPA_PLATFORM"):
        return None
    display, wayland = environ.get("DISPLAY"), environ.get("WAYLAND_DISPLAY")
    if not display and not wayland:
        return "There is no screen here (neither DISPLAY nor WAYLAND_DISPLAY is set)"
    if wayland and os.path.exists(os.path.join(environ.get("XDG_RUNTIME_DIR", ""), wayland)):
        return None
    if display and display_answers(display):
        return None
    return "The screen %s does not answer" % (display or wayland)


def display_answers(display):
    """Whether something listens where an X display name points; no word is spoken with it."""
    import socket  # costs time at each start, so only where a display is named

    match = re.match(r"^(?:(?:unix|tcp)/)?(.*?):(\d+)(?:\.\d+)?$", display)
    if match is None:
        return True  # a form we don't know: let Qt try
    host, number = match.group(1), int(match.group(2))
    if host in ("", "unix"):
        path = "/tmp/.X11-unix/X%d" % number
        for address in ("\0" + path, path):
            local = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
            try:
                local.connect(address)
                return True
            except OSError:
                continue
            finally:
                local.close()
        host = "localhost"
    try:
        socket.create_connection((host, 6000 + number), timeout=3).close()
        return True
    except OSError:
        return False


def missing_programs(names):
    """Those of the programs that are not on the path."""
    return {name for name in names if shutil.which(name) is None}
