"""Small files of our own, the lock that one start holds, and digests of the tool's files."""

import errno
import hashlib
import json
import os

TOOL = "benchtool"


def read_json(path):
    """A small file of our own; an unreadable one counts as absent."""
    try:
        with open(path, encoding="utf-8") as file:
            content = json.load(file)
    except (OSError, ValueError):
        return {}
    return content if isinstance(content, dict) else {}


def write_json(path, content):
    """Replace a small file of our own in one step."""
    beside = path + ".new"
    with open(beside, "w", encoding="utf-8") as file:
        json.dump(content, file, indent=1, sort_keys=True)
    os.replace(beside, path)


def try_lock(file):
    """Take an exclusive lock that ends with the process; False while another has it."""
    try:
        if os.name == "nt":
            import msvcrt

            file.seek(0)
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        # A file system that knows no locks must not keep anyone from starting.
        return error.errno not in (errno.EWOULDBLOCK, errno.EACCES, errno.EDEADLK)
    return True


def tool_files(root):
    """The files that make up the installed tool, as (name, path), in a fixed order."""
    yield "pyproject.toml", os.path.join(root, "pyproject.toml")
    for part in (TOOL, "resources"):
        for where, folders, names in os.walk(os.path.join(root, part)):
            folders[:] = sorted(name for name in folders if name != "__pycache__")
            for name in sorted(names):
                if not name.endswith(".pyc"):
                    path = os.path.join(where, name)
                    yield os.path.relpath(path, root), path


def quick_digest(root):
    """A digest of the tool's names, sizes and times: enough to see that nothing was touched."""
    digest = hashlib.sha256()
    for name, path in tool_files(root):
        facts = os.stat(path)
        digest.update(os.fsencode("%s %d %d\n" % (name, facts.st_size, facts.st_mtime_ns)))
    return digest.hexdigest()


def content_digest(root):
    """A digest of what the tool's files hold."""
    digest = hashlib.sha256()
    for name, path in tool_files(root):
        with open(path, "rb") as file:
            content = file.read()
        digest.update(os.fsencode("%s %d\n" % (name, len(content))))
        digest.update(content)
    return digest.hexdigest()
