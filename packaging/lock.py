"""Write the lock files: `python3 packaging/lock.py [--upgrade]`; needs uv on PATH or in .venv.

Without --upgrade what is locked stays as it is where pyproject.toml still allows it. The files fit Linux,
macOS and Windows and each Python that the tool supports, and hold the hash of every file they allow.
"""

import os
import re
import shutil
import subprocess
import sys

from trouble import EXIT_TROUBLE, Trouble, check_python, say, venv_python

ROOT = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
FOLDER = os.path.join("packaging", "lock")

# Published as source alone. They get a lock file of their own, since pip must be told to build them.
SOURCE_ONLY = ("psychrolib",)

# Photos of test strips are measured with it. It is loaded with the first photo, so that it costs no start.
EXTRA = "--extra=photo"

OPTIONS = [
    "--universal",
    "--generate-hashes",
    "--python-version=3.11",
    "--fork-strategy=fewest",  # one version of each package everywhere: what was tested is what is used
    "--no-annotate",
    "--no-header",
    "--only-binary=:all:",
]

HEADER = """\
# Made by `python3 packaging/lock.py` from pyproject.toml (%s).
# It runs: uv pip compile --universal --generate-hashes. Do not edit by hand.
"""


def find_uv():
    """The uv program."""
    beside = os.path.join(os.path.dirname(venv_python(ROOT)), "uv.exe" if os.name == "nt" else "uv")
    for candidate in (shutil.which("uv"), beside):
        if candidate and os.path.exists(candidate):
            return candidate
    raise Trouble("Locking needs uv: run `%s -m pip install uv`, then this again." % venv_python(ROOT))


def compile_lock(uv, target, options):
    """Resolve into one lock file, keeping its present versions where they still fit."""
    command = [uv, "pip", "compile", "--quiet", "pyproject.toml", "--output-file", target]
    if subprocess.call(command + OPTIONS + options, cwd=ROOT) != 0:
        raise Trouble("No set of versions fits pyproject.toml: change what it asks for, then run this again.")


def entries(text):
    """A lock file's packages as {name: its lines}, without comments."""
    found = {}
    for block in re.split(r"(?m)^(?=[A-Za-z0-9])", text):
        match = re.match(r"([A-Za-z0-9._-]+)==", block)
        if match:
            lines = [line for line in block.splitlines(True) if not line.lstrip().startswith("#")]
            found[match.group(1)] = "".join(lines)
    return found


def write_lock(target, what, packages):
    """Write packages in their order under the header."""
    text = HEADER % what + "".join(packages[name] for name in sorted(packages))
    if "://" in text:
        raise Trouble("The lock would hold an address: take it out of uv's settings and lock again.")
    with open(os.path.join(ROOT, target), "w", encoding="utf-8", newline="\n") as file:
        file.write(text)


def read_lock(target):
    """The packages of a lock file that is there; none where it is not."""
    path = os.path.join(ROOT, target)
    if not os.path.exists(path):
        return {}
    with open(path, encoding="utf-8") as file:
        return entries(file.read())


def lock(arguments):
    """Write all three lock files."""
    check_python()
    uv = find_uv()
    run, test, source = (os.path.join(FOLDER, name) for name in ("run.txt", "test.txt", "test-source.txt"))
    compile_lock(uv, run, ["--group=build", EXTRA, *arguments])
    write_lock(run, "dependencies, extra photo and group build", read_lock(run))
    # uv takes the present versions from the file that it writes, so the split one is joined for the while.
    write_lock(test, "while resolving", dict(read_lock(test), **read_lock(source)))
    build = ["--no-binary=" + name for name in SOURCE_ONLY]
    compile_lock(uv, test, ["--group=build", "--group=test", EXTRA, "--constraint=" + run, *build, *arguments])
    found = read_lock(test)
    apart = {name: found.pop(name) for name in SOURCE_ONLY}
    write_lock(source, "of group test, what is published as source alone", apart)
    write_lock(test, "dependencies, extra photo and groups build and test", found)
    say("Locked %d packages for use and %d for tests." % (len(read_lock(run)), len(found) + len(SOURCE_ONLY)))
    return 0


if __name__ == "__main__":
    try:
        sys.exit(lock(sys.argv[1:]))
    except Trouble as trouble:
        say(str(trouble))
        sys.exit(EXIT_TROUBLE)
