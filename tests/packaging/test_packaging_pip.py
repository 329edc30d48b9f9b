"""pip's failures become one sentence each. The samples are pip 23's and 25's own words, hosts made up."""

import pytest

RETRY = (
    "WARNING: Retrying (Retry(total=0, connect=None, read=None, redirect=None, status=None)) after connection "
    "broken by '%s': /simple/filelock/\n"
)
NONE = (
    "ERROR: Could not find a version that satisfies the requirement filelock==4.2.12 (from versions: none)\n"
    "ERROR: No matching distribution found for filelock==4.2.12\n"
)
POOL = "HTTPSConnectionPool(host='registry.example', port=443): Max retries exceeded with url: /simple/filelock/ "

SAMPLES = [
    (
        "network",
        RETRY % "NewConnectionError('<pip._vendor.urllib3.connection.HTTPSConnection object at 0x7f2b89d8ea90>: "
        "Failed to establish a new connection: [Errno 111] Connection refused')" + NONE,
    ),
    (
        "network",
        "Could not fetch URL https://registry.example/simple/filelock/: connection error: "
        + POOL
        + "(Caused by NewConnectionError('[Errno -3] Temporary failure in name resolution')) - skipping\n"
        + NONE,
    ),
    ("network", RETRY % "ReadTimeoutError(\"HTTPSConnectionPool(host='registry.example'): Read timed out.\")" + NONE),
    ("network", "ERROR: Could not install packages due to an OSError: ('Connection broken: IncompleteRead(9 bytes)')"),
    (
        "network",  # Windows
        RETRY % "NewConnectionError('[Errno 11001] getaddrinfo failed')" + NONE,
    ),
    ("proxy", RETRY % "ProxyError('Cannot connect to proxy.', NewConnectionError('Connection refused'))" + NONE),
    (
        "trust",
        "Could not fetch URL https://registry.example/simple/filelock/: There was a problem confirming the ssl "
        "certificate: " + POOL + "(Caused by SSLError(SSLCertVerificationError(1, '[SSL: CERTIFICATE_VERIFY_FAILED]')))"
        " - skipping\n" + NONE,
    ),
    ("refused", "ERROR: 503 Server Error: Service Unavailable for url: https://registry.example/simple/pint/"),
    ("refused", "ERROR: HTTP error 403 while getting https://registry.example/files/pint-0.25.3-py3-none-any.whl"),
    (
        "hash",
        (
            "ERROR: THESE PACKAGES DO NOT MATCH THE HASHES FROM THE REQUIREMENTS FILE. If you have updated the package "
            "versions, please update the hashes.\n    filelock==4.2.12 from https://registry.example/f.whl:\n"
            "        Expected sha256 31decf\n             Got        21decf\n"
        ),
    ),
    ("full", "ERROR: Could not install packages due to an OSError: [Errno 28] No space left on device\n"),
    (
        "long",
        (
            "ERROR: Could not install packages due to an OSError: [Errno 2] No such file or directory: 'C:\\\\a'\n"
            "HINT: This error might have occurred since this system does not have Windows Long Path support enabled."
        ),
    ),
    ("unfit", NONE),
    (
        "unfit",
        (
            "ERROR: Could not find a version that satisfies the requirement pyside6-addons==6.12.0 (from versions: "
            "6.4.0, 6.5.0)\nERROR: No matching distribution found for pyside6-addons==6.12.0\n"
        ),
    ),
    ("settings", "WARNING: The repository located at registry.example is not a trusted or secure host and\n" + NONE),
    ("rights", "ERROR: Could not install packages due to an OSError: [Errno 13] Permission denied: '/x/y'\n"),
    ("", "ERROR: Exception:\nTraceback (most recent call last):\nValueError: https://registry.example/x is odd\n"),
]


@pytest.mark.parametrize(("kind", "output"), SAMPLES, ids=[kind or "unknown" for kind, _ in SAMPLES])
def test_a_failure_is_recognised(scripts, kind, output):
    assert scripts.trouble.recognise(output) == kind


@pytest.mark.parametrize(("kind", "output"), SAMPLES, ids=[kind or "unknown" for kind, _ in SAMPLES])
def test_it_is_said_in_one_sentence_with_a_command_and_no_host(scripts, started, kind, output):
    words = scripts.trouble.pip_trouble(output, "/home/anna/Größe 1", "/home/anna/Größe 1/.venv/setup.log")
    assert "\n" not in words
    assert words.endswith(f"`{started}`.")
    assert "registry.example" not in words
    assert "://" not in words


def test_every_kind_has_a_sample_and_a_sentence(scripts):
    kinds = {kind for kind, _ in scripts.trouble._SIGNS} | {""}
    assert {kind for kind, _ in SAMPLES} == kinds
    assert set(scripts.trouble._SENTENCES) == kinds | {"new python"}


def test_a_python_newer_than_the_packages_is_told_an_older_one(scripts, started, monkeypatch):
    monkeypatch.setattr(scripts.trouble, "NEWEST_PYTHON", (3, 4))
    monkeypatch.setattr(scripts.trouble, "newer_pythons", lambda: iter(["python3.13"]))
    words = scripts.trouble.pip_trouble(NONE, "/x", "/x/log")
    assert "filelock==4.2.12 for this new Python" in words
    assert words.endswith("run `python3.13 packaging/start.py 'my job.json'`.")


def test_the_unknown_failure_shows_its_last_error(scripts):
    output = "Collecting pint\nERROR: something odd at https://registry.example/simple\nsee above\n"
    assert scripts.trouble.last_words(output) == "ERROR: something odd at (the registry)"


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (
            "  Downloading https://registry.example/a/b/pyside6_addons-6.12.0-cp310-abi3-linux.whl (59.2 MB)\n",
            "  pyside6_addons 6.12.0 (59.2 MB)\n",
        ),
        ("  Downloading pint-0.25.3-py3-none-any.whl (307 kB)\n", "  pint 0.25.3 (307 kB)\n"),
        ("  Downloading pint-0.25.3-py3-none-any.whl.metadata (5 kB)\n", ""),
        ("Looking in indexes: https://registry.example/simple\n", ""),
        ("Installing collected packages: a, b\n", "  Unpacking.\n"),
    ],
)
def test_progress_names_the_package_and_not_the_place(scripts, capsys, line, said):
    scripts.environment.tell_download(line)
    assert capsys.readouterr() == ("", said)
