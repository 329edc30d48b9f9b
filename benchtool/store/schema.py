"""The JSON Schema of the job file, made from the records themselves and published in resources/."""

from typing import Any

import msgspec

from benchtool.job.record import SCHEMA, Job

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def schema() -> bytes:
    """Write the JSON Schema (draft 2020-12) of the job file as it stands in resources/job.schema.json."""
    made = msgspec.json.schema(Job)
    definitions: dict[str, Any] = made.pop("$defs")
    document = {
        "$schema": DIALECT,
        "$id": f"urn:benchtool:job:{SCHEMA}",
        "title": "Bench job",
        "description": (
            "One customer's painting work as a list of events, oldest first; all else is computed from it. Times are "
            "RFC 3339 in UTC, lengths of time ISO 8601 durations of days, hours, minutes and seconds. Beyond this "
            "schema, ids are unique, an event speaks only of what came before it, and a coat is done after it started."
        ),
        **made,
        "$defs": {name: _on_one_line(definitions[name]) for name in sorted(definitions)},
    }
    return msgspec.json.format(msgspec.json.encode(document), indent=2) + b"\n"


def _on_one_line(definition: dict[str, Any]) -> dict[str, Any]:
    return {k: " ".join(v.split()) if k == "description" else v for k, v in definition.items()}
