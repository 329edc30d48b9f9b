"""Start the tool: `python3 packaging/start.py [JOB | COMMAND ...]`.

The first start makes a private environment in `.venv` beside this folder, fetches what the tool needs at
the versions of packaging/lock/run.txt, and installs the tool; later starts go straight to it. Without
arguments the window opens on the jobs that were open last, the first time on the demo job. Arguments go to
the tool as they are, and its exit status comes back; 3 means that the tool could not be started, and one
sentence on standard error says what mends that.
"""

import os
import signal
import subprocess
import sys

from trouble import EXIT_TROUBLE, Trouble, check_python, say

DEMO = "demo"


def opens_window(arguments):
    """Whether these arguments ask for the window: none, the demo, or a path of a job.

    The tool's commands are plain words and options begin with a dash; a job's file has a suffix or a folder.
    """
    if not arguments:
        return True
    first = arguments[0]
    if first.startswith("-"):
        return False
    return first == DEMO or "." in first or os.sep in first or "/" in first


def hand_over(python, arguments, environ):
    """Become the tool; on Windows, which can't, wait for it and give its exit status."""
    command = [python, "-P", "-m", "benchtool", *arguments]
    sys.stdout.flush()
    sys.stderr.flush()
    if os.name == "posix":
        os.execve(python, command, environ)
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl+C is the tool's to answer
    return subprocess.call(command, env=environ)


def start(arguments):
    """Set up what is missing, then run the tool."""
    check_python()
    # Only now: these may lean on what an old Python lacks.
    import machine
    from environment import Environment, clean_environment
    from window import Window

    environment = Environment()
    environment.prepare("run")
    if opens_window(arguments):
        reason = machine.no_screen()
        if reason:
            say(reason + ", so here is the job as text.")
            arguments = ["check", *(arguments or [DEMO])[:1]]
        else:
            Window(environment).check()
    return hand_over(environment.python, arguments, clean_environment())


def main(arguments):
    """The exit status of a start."""
    try:
        return start(arguments)
    except Trouble as trouble:
        say(str(trouble))
        return EXIT_TROUBLE
    except KeyboardInterrupt:
        say("Stopped; the next start puts it right.")
        return 130


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
