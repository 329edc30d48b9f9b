"""Whether the window can open on this computer: Qt's system libraries and a font."""

import contextlib
import os
import re
import subprocess
import sys

import machine
from environment import clean_environment
from files import TOOL, read_json, tool_files, write_json
from trouble import Trouble, again, last_words, quoted, say

PURPOSE = "The window"


class Window:
    """What the window of one environment needs from the system."""

    def __init__(self, environment, environ=None):
        self.environment = environment
        self.environ = os.environ if environ is None else environ
        self._stamp_path = os.path.join(environment.folder, "window.json")

    def check(self):
        """Raise Trouble, or mend it, when the window could not open."""
        if not sys.platform.startswith("linux"):
            return
        plugins = machine.platforms(self.environ)
        if self._known_good(plugins):
            return
        say("Looking at what the window needs from this system.")
        missing, found = self.missing(plugins)
        if missing and machine.can_install():
            machine.install(machine.packages(missing, "debian"), self.environment.log)
            missing, found = self.missing(plugins)
        if missing:
            raise Trouble(machine.missing_sentence(missing, PURPOSE))
        self._import()
        self._remember(plugins, found)

    def _known_good(self, plugins):
        """The answer of the last full look, as long as every file that it found is still there."""
        stamp = read_json(self._stamp_path)
        files = stamp.get("files")
        return (
            bool(files)
            and stamp.get("plugins") == plugins
            and stamp.get("tool") == self.environment.stamp().get("tool")
            and all(os.path.exists(path) for path in files)
        )

    def _remember(self, plugins, found):
        tool = self.environment.stamp().get("tool")
        with contextlib.suppress(OSError):  # in someone else's environment, look again next time
            write_json(self._stamp_path, {"plugins": plugins, "tool": tool, "files": sorted(found)})

    def missing(self, plugins):
        """What is not there (sonames, "font"), and the system files that the window leans on."""
        qt = os.path.join(self.environment.site_packages(self.environment.stamp().get("python")), "PySide6")
        missing, found = set(), set()
        for module in modules_used(self.environment.root):
            absent, present = machine.shared_libraries(os.path.join(qt, module + ".abi3.so"))
            missing |= absent
            found |= present
        fits, first = False, None
        for plugin in plugins:
            path = os.path.join(qt, "Qt", "plugins", "platforms", "libq%s.so" % plugin)
            absent, present = machine.shared_libraries(path)
            found |= present
            fits = fits or not absent
            first = absent if first is None else first
        if not fits and first:
            missing |= first  # Qt takes any plugin that works, so name what the first one lacks
        font = machine.find_font(self.environ)
        if font is None:
            missing.add("font")
        else:
            found.add(font)
        return missing, {path for path in found if not path.startswith(self.environment.folder + os.sep)}

    def _import(self):
        """The last word: does the toolkit load?"""
        lines = ["import PySide6." + module for module in modules_used(self.environment.root)]
        done = subprocess.run(
            [self.environment.python, "-P", "-c", "\n".join(lines)],
            env=clean_environment(),
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            check=False,
        )
        if done.returncode == 0:
            return
        output = os.fsdecode(done.stdout)
        self.environment.log.add(output)
        absent = set(re.findall(r"(lib[\w.+-]+\.so[.\d]*): cannot open shared object", output))
        if absent:
            raise Trouble(machine.missing_sentence(absent, PURPOSE))
        raise Trouble(
            "The window's toolkit does not load (%s): run `rm -rf %s`, then `%s`."
            % (last_words(output), quoted(self.environment.folder), again())
        )


def modules_used(root):
    """The Qt modules that the tool's own source imports, so that no list of them can go stale."""
    names = {"QtWidgets"}
    for name, path in tool_files(root):
        if name.startswith(TOOL) and name.endswith(".py"):
            with open(path, encoding="utf-8", errors="replace") as file:
                names.update(qt_imports(file.read()))
    return sorted(names)


def qt_imports(source):
    """The names of the Qt modules that a Python source imports."""
    names = set(re.findall(r"\bPySide6\.(Qt\w+)", source))
    for listed in re.findall(r"from PySide6 import \(?([^)\n#]*(?:\n[^)#]*\))?)", source):
        names.update(re.findall(r"\bQt\w+", listed))
    return names
