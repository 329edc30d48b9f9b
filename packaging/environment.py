"""The private environment `.venv`: made, filled from the lock files, repaired, and left alone when right.

The stamp is the last thing written and the first thing taken away, so an interrupted set-up is always seen;
an operating-system lock keeps two starts from working on the same folder.
"""

import contextlib
import errno
import hashlib
import importlib
import importlib.util
import os
import shutil
import signal
import subprocess
import sys
import time

import machine
from files import TOOL, content_digest, quick_digest, read_json, try_lock, write_json
from trouble import Trouble, again, how_to_get_python, pip_trouble, quoted, say, venv_python

ROOT = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))

# What each set-up installs, in this order: (lock file, pip options).
LOCKS = {
    "run": [("run.txt", ["--only-binary", ":all:"])],
    "test": [
        ("test.txt", ["--only-binary", ":all:"]),
        # Published as source alone; what builds it is pinned in test.txt.
        ("test-source.txt", ["--no-binary", ":all:", "--no-deps", "--no-build-isolation"]),
    ],
}

# Settings that would send an install, or an import, somewhere else than into the environment.
_STRAY = (
    "PYTHONPATH",
    "PYTHONHOME",
    "PYTHONSTARTUP",
    "PIP_TARGET",
    "PIP_PREFIX",
    "PIP_ROOT",
    "PIP_USER",
    "__PYVENV_LAUNCHER__",
)


class Log:
    """Keeps what the helpers of a set-up printed, for the case that it fails."""

    def __init__(self, path):
        self.path = path

    def clear(self):
        with contextlib.suppress(OSError):
            os.remove(self.path)

    def add(self, text):
        with contextlib.suppress(OSError), open(self.path, "a", encoding="utf-8", errors="replace") as file:
            file.write(text if text.endswith("\n") else text + "\n")

    def lines(self, holding):
        """The lines that hold these words."""
        with contextlib.suppress(OSError), open(self.path, encoding="utf-8", errors="replace") as file:
            return "".join(line for line in file if holding in line)
        return ""


class Environment:
    """The `.venv` of one checkout."""

    def __init__(self, root=ROOT):
        self.root = root
        self.folder = os.path.join(root, ".venv")
        self.python = venv_python(root)
        self.log = Log(os.path.join(self.folder, "setup.log"))
        self._stamp_path = os.path.join(self.folder, "setup.json")
        self._lock_path = os.path.join(self.folder, "setup.lock")
        self._lock = None

    # -- what is there

    def stamp(self):
        """What the last finished set-up left; empty when it did not finish."""
        return read_json(self._stamp_path)

    def outstanding(self, kind):
        """What a start still has to do: a subset of {"make", "fetch", "tool"}; empty when all is right."""
        stamp = self.stamp()
        if not stamp or not self._intact(stamp):
            return {"make", "fetch", "tool"}
        todo = set()
        if stamp.get("locks", {}).get(kind) != self.lock_digest(kind):
            todo.update(("fetch", "tool"))
        elif stamp.get("quick") != quick_digest(self.root) and stamp.get("tool") != content_digest(self.root):
            todo.add("tool")
        return todo

    def _intact(self, stamp):
        try:
            there = set(os.listdir(self.site_packages(stamp.get("python", ""))))
        except OSError:
            return False
        if not there.issuperset(stamp.get("packages") or ["never made"]):
            return False
        return self.python_version() == stamp["python"]

    def python_version(self):
        """The version of the environment's own Python as "3.11", or None where it does not start."""
        probe = "import sys; print('%d.%d' % sys.version_info[:2])"
        try:
            done = subprocess.run(
                [self.python, "-I", "-S", "-c", probe],
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                check=False,
            )
        except OSError:
            return None
        return done.stdout.decode("ascii", "replace").strip() if done.returncode == 0 else None

    def site_packages(self, version=None):
        """The folder that packages are installed in."""
        if os.name == "nt":
            return os.path.join(self.folder, "Lib", "site-packages")
        version = version or "%d.%d" % sys.version_info[:2]
        return os.path.join(self.folder, "lib", "python" + version, "site-packages")

    def lock_digest(self, kind):
        """A digest of the lock files of one set-up."""
        digest = hashlib.sha256()
        for name, _ in LOCKS[kind]:
            path = os.path.join(self.root, "packaging", "lock", name)
            try:
                with open(path, "rb") as file:
                    digest.update(file.read())
            except OSError as error:
                raise Trouble("This folder is not complete (%s: %s): get it again." % (path, error.strerror)) from None
        return digest.hexdigest()

    # -- making it right

    def prepare(self, kind):
        """Make the environment fit for `kind` ("run" or "test"); raises Trouble."""
        if not self.outstanding(kind):
            return
        with self._only_one(), stop_cleanly():
            todo = self.outstanding(kind)  # another start may just have done it
            if not todo:
                return
            try:
                self._carry_out(todo, kind)
            except OSError as error:
                raise self._disk_trouble(error) from None

    def _carry_out(self, todo, kind):
        self.log.clear()
        stamp = self.stamp()
        first = not any(os.path.lexists(path) for path in (self.python, os.path.join(self.folder, "pyvenv.cfg")))
        if "make" in todo:
            if not first:
                say("The last set-up did not finish or was damaged; making .venv again.")
            need_venv_module(self.log)
            self._clear()
            self._make()
            stamp = {}
        if "fetch" in todo:
            say(_fetching(first, "make" in todo, kind))
            self._remove_stamp()
            for name, options in LOCKS[kind]:
                path = os.path.join(self.root, "packaging", "lock", name)
                self._pip(["--require-hashes", *options, "-r", path])
            stamp["locks"] = {"run": self.lock_digest("run")}
            if kind == "test":
                stamp["locks"]["test"] = self.lock_digest("test")
        if "tool" in todo:
            # Before the copy: a file changed meanwhile is then seen by the next start.
            quick, content = quick_digest(self.root), content_digest(self.root)
            if "fetch" not in todo:
                say("The tool has changed; installing it again.")
                others = [name for name in stamp["packages"] if not _is_tool(name)]
                self._write_stamp(dict(stamp, quick=None, tool=None, packages=others))
            self._install_tool()
            stamp.update(quick=quick, tool=content)
        version = "%d.%d" % sys.version_info[:2] if "make" in todo else stamp.get("python")
        stamp["python"] = version or self.python_version()
        names = os.listdir(self.site_packages(stamp["python"]))
        stamp["packages"] = sorted(name for name in names if name.endswith(".dist-info") or name == TOOL)
        self._write_stamp(stamp)

    def _clear(self):
        """Empty the folder but for the lock that this start holds, and the log."""
        self._remove_stamp()
        for name in os.listdir(self.folder):
            path = os.path.join(self.folder, name)
            if path in (self._lock_path, self.log.path):
                continue
            if os.path.isdir(path) and not os.path.islink(path):
                shutil.rmtree(path)
            else:
                os.remove(path)

    def _make(self):
        status, output = self._call([sys.executable, "-m", "venv", self.folder])
        if status != 0:
            if "PATH separator" in output:
                raise Trouble(
                    "A folder whose path holds `%s` can't hold the tool: rename %s, then run `%s`."
                    % (os.pathsep, quoted(self.root), again())
                )
            raise Trouble(pip_trouble(output, self.root, self.log.path))

    def _pip(self, arguments, on_line=None):
        command = [self.python, "-m", "pip", "install", "--no-input", "--disable-pip-version-check"]
        command += ["--progress-bar", "off", "--no-warn-script-location", "--log", self.log.path]
        status, output = self._call(command + arguments, on_line or tell_download)
        if status != 0:
            # Only its log says why pip found nothing when it was told not to try again.
            raise Trouble(pip_trouble(output + self.log.lines("Could not fetch URL"), self.root, self.log.path))

    def _install_tool(self):
        site = self.site_packages(self.python_version())
        # An install cut short leaves pieces that pip refuses to replace.
        for name in os.listdir(site):
            if _is_tool(name):
                shutil.rmtree(os.path.join(site, name))
        # A copy, not a link to the checkout: a link is a .pth file, which some locales can't read when the
        # folder's name has letters beyond ASCII.
        self._pip(
            ["--no-index", "--no-deps", "--no-build-isolation", "--force-reinstall", self.root],
            lambda _: None,
        )

    def _call(self, command, on_line=None):
        """Run a helper to its end; gives its exit status and all it printed."""
        environ = clean_environment()
        environ.update(PYTHONIOENCODING="utf-8", PYTHONUNBUFFERED="1", PIP_USER="0")
        # The helper holds the lock too, so that killing this start alone can't let a second one in beside it.
        keep = {"pass_fds": (self._lock.fileno(),)} if self._lock and os.name == "posix" else {}
        process = subprocess.Popen(
            command,
            cwd=self.folder,  # nothing here can be mistaken for a module
            env=environ,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            encoding="utf-8",
            errors="replace",
            **keep,
        )
        lines = []
        try:
            for line in process.stdout:
                lines.append(line)
                if on_line:
                    on_line(line)
            process.wait()
        finally:
            if process.poll() is None:
                process.terminate()
                process.wait()
            process.stdout.close()
        output = "".join(lines)
        if "--log" not in command:
            self.log.add(output)
        return process.returncode, output

    # -- files

    def _write_stamp(self, stamp):
        write_json(self._stamp_path, stamp)

    def _remove_stamp(self):
        with contextlib.suppress(FileNotFoundError):
            os.remove(self._stamp_path)

    def _disk_trouble(self, error):
        if error.errno in (errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC)):
            return Trouble(pip_trouble("No space left on device", self.root, self.log.path))
        if error.errno not in (errno.EACCES, errno.EPERM, errno.EROFS):
            return Trouble("Setting up did not work (%s): mend that, then run `%s`." % (error, again()))
        if os.access(self.root, os.W_OK) and os.name == "posix":
            return Trouble(
                "Somebody else made the environment in this folder and you can't change it: "
                "run `sudo rm -rf %s`, then `%s`." % (quoted(self.folder), again())
            )
        if os.name == "posix":
            start = os.path.join("packaging", os.path.basename(sys.argv[0]))
            if os.path.dirname(self.root) == os.path.expanduser("~"):
                mend = 'sudo chown -R "$(id -un)" %s && python3 %s' % (
                    quoted(self.root),
                    quoted(os.path.join(self.root, start)),
                )
            else:
                copy = os.path.join(os.path.basename(self.root) or TOOL, start)
                mend = "cp -r %s ~/ && python3 ~/%s" % (quoted(self.root), quoted(copy))
            return Trouble(
                "You can't write in %s, where the tool sets itself up: run `%s`." % (quoted(self.root), mend)
            )
        return Trouble(
            "You can't write in %s: copy that folder to one of your own and start there." % quoted(self.root)
        )

    @contextlib.contextmanager
    def _only_one(self):
        try:
            if os.path.lexists(self.folder) and not os.path.isdir(self.folder):
                os.remove(self.folder)
            os.makedirs(self.folder, exist_ok=True)
            self._lock = open(self._lock_path, "a+b")  # noqa: SIM115 - held until the set-up ends
        except OSError as error:
            raise self._disk_trouble(error) from None
        try:
            if not try_lock(self._lock):
                say("Another start is setting up this folder; waiting for it.")
                while not try_lock(self._lock):
                    time.sleep(0.2)
            yield
        finally:
            self._lock.close()
            self._lock = None


@contextlib.contextmanager
def stop_cleanly():
    """Turn a request to end into an exception, so that the helper is ended as well."""

    def stop(number, _frame):
        raise SystemExit(128 + number)

    old = signal.signal(signal.SIGTERM, stop)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, old)


def clean_environment():
    """This process's environment without what would mislead the private one."""
    environ = {key: value for key, value in os.environ.items() if key not in _STRAY}
    if sys.platform.startswith("linux") and environ.get("LC_ALL") in ("C", "POSIX"):
        environ["LC_ALL"] = "C.UTF-8"  # the same habits, but letters beyond ASCII survive in file names
    return environ


def _is_tool(name):
    """Whether a name in site-packages is the tool's own, or what pip left of it in passing."""
    return name == TOOL or name.startswith((TOOL + "-", "~" + TOOL[1:]))


def _fetching(first, everything, kind):
    """What a set-up that fetches something says before the wait."""
    if not everything:
        return "Fetching what the tests need." if kind == "test" else "Fetching what has changed."
    return "%s: fetching what the window needs%s, about %d MB. This takes a minute or two." % (
        "First start" if first else "Setting up",
        " and what tests it" if kind == "test" else "",
        350 if kind == "test" else 340,
    )


def need_venv_module(log):
    """Raise Trouble, or mend it, when this Python can't make environments."""
    if can_make_environments():
        return
    distribution = os.path.realpath(sys.executable).startswith("/usr/bin/") and machine.family() == "debian"
    package = "python%d.%d-venv" % sys.version_info[:2]
    if os.path.realpath("/usr/bin/python3") == os.path.realpath(sys.executable):
        package = "python3-venv"
    if distribution and machine.can_install():
        machine.install([package], log)
        importlib.invalidate_caches()
        if can_make_environments():
            return
    if distribution:
        mend = "run `%s`, then `%s`." % (machine.install_command([package], "debian"), again())
    else:
        mend = how_to_get_python()
    raise Trouble("This Python (%s) can't make a private environment; %s" % (sys.executable, mend))


def can_make_environments():
    """Whether this Python has both venv and what puts pip into a new environment."""
    return all(importlib.util.find_spec(name) is not None for name in ("venv", "ensurepip"))


def tell_download(line):
    """Say which package is being fetched, without saying from where."""
    words = line.split()
    if words[:1] == ["Downloading"] and len(words) >= 3 and not words[1].endswith(".metadata"):
        parts = words[1].rpartition("/")[2].split("-")
        say("  %s %s %s" % (parts[0], parts[1] if len(parts) > 1 else "", " ".join(words[2:])))
    elif line.startswith("Installing collected packages"):
        say("  Unpacking.")
