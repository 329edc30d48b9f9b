"""What can go wrong before the tool runs, each said in one sentence with the command that mends it.

Everything that runs before the version check must work on Python 3.6, so that an old Python is told so
instead of tripping over newer syntax.
"""

import os
import re
import shlex
import shutil
import subprocess
import sys

OLDEST_PYTHON = (3, 11)
NEWEST_PYTHON = (3, 14)  # the newest that the locked packages are published for

# A command that can't be set up ends with this; the tool itself uses 0, 1 and 2.
EXIT_TROUBLE = 3


class Trouble(Exception):
    """One sentence for the person who started the script."""


def say(words, stream=None):
    """Print plain words; the tool's own answer keeps standard output for itself."""
    stream = stream or sys.stderr
    try:
        print(words, file=stream)
    except UnicodeEncodeError:  # a terminal that can't show the folder's name
        print(words.encode("ascii", "backslashreplace").decode("ascii"), file=stream)
    stream.flush()


def quoted(path):
    """A path or argument as it must be typed in a shell."""
    if os.name == "nt":
        return subprocess.list2cmdline([path])
    return shlex.quote(path)


def again(python=None):
    """The command that repeats this start, by default with the Python that was asked for."""
    if python is None:
        typed = getattr(sys, "orig_argv", ["python3"])[0]
        name = os.path.basename(typed)
        python = "py" if os.name == "nt" else quoted(name if shutil.which(name) == typed else typed)
    return " ".join([python] + [quoted(word) for word in sys.argv])


def is_root():
    """Whether this runs with the right to install system packages."""
    return hasattr(os, "geteuid") and os.geteuid() == 0


def newer_pythons():
    """Commands on this machine that start a new enough Python able to make environments, best first."""
    probe = "import sys, venv, ensurepip; sys.exit(sys.version_info < (%d, %d))" % OLDEST_PYTHON
    names = ["python3.13", "python3.14", "python3.12", "python3.11", "/usr/bin/python3", "python3"]
    for name in names:
        command = shutil.which(name)
        if command is None or os.path.realpath(command) == os.path.realpath(sys.executable):
            continue
        try:
            # A version manager's stand-in exists for versions that it then refuses to start.
            silent = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
            if subprocess.call([command, "-I", "-c", probe], **silent) == 0:
                yield name
        except OSError:
            continue


def how_to_get_python():
    """Words that end "... and this is Python 3.8;" with the exact command that mends it."""
    for name in newer_pythons():
        return "run `%s`." % again(name)
    then = again("python3.12")
    root = "" if is_root() else "sudo "
    if sys.platform.startswith("win"):
        return "run `winget install Python.Python.3.13`, then `%s`." % again("py -3.13")
    if sys.platform == "darwin" and shutil.which("brew"):
        return "run `brew install python@3.12`, then `%s`." % then
    if shutil.which("apt-get"):
        for minor in (13, 12, 11):
            name = "python3.%d" % minor
            if _apt_knows(name):
                return "run `%sapt-get install %s %s-venv`, then `%s`." % (root, name, name, again(name))
    if shutil.which("dnf"):
        return "run `%sdnf install python3.12`, then `%s`." % (root, then)
    return "install Python 3.12 from python.org, then run `%s`." % then


def _apt_knows(package):
    command = ["apt-cache", "show", "--no-all-versions", package]
    try:
        return subprocess.call(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) == 0
    except OSError:
        return False


def check_python(version=None):
    """Raise Trouble when this Python is too old for the tool."""
    version = tuple(version or sys.version_info)[:3]
    if version[:2] < OLDEST_PYTHON:
        raise Trouble(
            "This needs Python 3.11 or newer and this is Python %s; %s"
            % (".".join(str(part) for part in version), how_to_get_python())
        )


def without_hosts(text):
    """pip's words less every address, since which registry is used is the user's own affair."""
    text = re.sub(r"\b(?:https?|file)://\S+", "(the registry)", text)
    text = re.sub(r"host='[^']*'", "host=(the registry)", text)
    return re.sub(r"(?i)\b(looking in (?:indexes|links)):.*", r"\1: (the registry)", text)


# What pip prints, oldest to newest versions of it, in the order in which it decides.
_SIGNS = [
    ("hash", r"DO NOT MATCH THE HASHES|Hashes are required|Expected sha256"),
    ("full", r"No space left on device|Errno 28\b|Disk quota exceeded|not enough space on the disk"),
    ("long", r"Long Path support|WinError 206|File name too long"),
    ("proxy", r"ProxyError|Cannot connect to proxy"),
    ("trust", r"CERTIFICATE_VERIFY_FAILED|SSLError|SSLCertVerification"),
    ("refused", r"\b(?:40[137]|429|5\d\d) (?:Client|Server) Error|HTTP error (?!404)"),
    (
        "network",
        (
            r"NewConnectionError|ConnectTimeout|ReadTimeout|timed out|Max retries exceeded|IncompleteRead"
            r"|Temporary failure (?:in name resolution|resolving)|Could not (?:resolve|connect)"
            r"|Name or service not known|getaddrinfo failed"
            r"|nodename nor servname|Failed to (?:establish a new connection|connect)|Network is unreachable"
            r"|No route to host|Connection (?:refused|aborted|reset|broken)|RemoteDisconnected"
            r"|ConnectionError"
        ),
    ),
    ("settings", r"not a trusted or secure host"),
    ("unfit", r"No matching distribution found|is not a supported wheel"),
    ("rights", r"Permission denied|Errno 13\b|WinError 5\b|Read-only file system"),
]

_SENTENCES = {
    "hash": "A fetched package is not the one this tool was tested with (its checksum differs), so it was "
    "not installed: run `{python} -m pip cache purge`, then `{again}`.",
    "full": "The disk is full: free about 1 GB where {root} and the temporary folder are, then run `{again}`.",
    "long": "The folder's path is too long for this system: move {root} nearer the top of the disk, then "
    "run `{again}`.",
    "unfit": "The package registry has no ready-made {package} for this system: bring the system up to "
    "date, then run `{again}`.",
    "new python": "The package registry has no ready-made {package} for this new Python yet: {older}",
    "proxy": "The proxy that is set for this computer does not answer: correct HTTPS_PROXY, then run `{again}`.",
    "trust": "The package registry's certificate is not trusted here: set the computer's date, or run "
    "`python3 -m pip config set global.cert FILE` with your network's certificate, then `{again}`.",
    "refused": "The package registry answers with an error: wait a little, then run `{again}`.",
    "network": "The package registry can't be reached: connect this computer to the network, then run `{again}`.",
    "settings": "pip is set to use a registry that it does not trust: correct what `python3 -m pip config list` "
    "shows, then run `{again}`.",
    "rights": "Something in {root} can't be written: give yourself the right to it, then run `{again}`.",
    "": "Setting up did not work ({words}): read {log}, then run `{again}`.",
}


def recognise(output):
    """Which kind of trouble pip's output tells of; an empty string when it is none that we know."""
    for kind, sign in _SIGNS:
        if re.search(sign, output, re.IGNORECASE):
            return kind
    return ""


def pip_trouble(output, root, log):
    """The one sentence for a failed pip run.

    `output` is all that pip printed, `root` the checkout, `log` where the output was kept.
    """
    kind = recognise(output)
    package = re.search(r"No matching distribution found for ([\w.-]+==[\w.]+)", output)
    older = ""
    if kind == "unfit" and sys.version_info[:2] > NEWEST_PYTHON:
        kind, older = "new python", how_to_get_python()
    return _SENTENCES[kind].format(
        again=again(),
        log=quoted(log),
        older=older,
        package=package.group(1) if package else "package",
        python=quoted(venv_python(root)),
        root=quoted(root),
        words=last_words(output),
    )


def last_words(output):
    """The line of a program's output that most likely says what was wrong, without any address."""
    lines = [line.strip() for line in without_hosts(output).splitlines() if line.strip()]
    errors = [line for line in lines if re.match(r"(?i)(error|[\w.]*(error|exception)):?", line)]
    line = (errors or lines or ["it said nothing"])[-1]
    return line if len(line) <= 200 else line[:197] + "..."


def venv_python(root):
    """The private environment's own Python."""
    if os.name == "nt":
        return os.path.join(root, ".venv", "Scripts", "python.exe")
    return os.path.join(root, ".venv", "bin", "python")
