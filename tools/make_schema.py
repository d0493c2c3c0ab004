"""Write the JSON Schema of the job document to `docs/reference/job.schema.json`.

python -m tools.make_schema
"""

from __future__ import annotations

import json
from pathlib import Path

from pondwright.job.codec import job_schema

SCHEMA = Path(__file__).resolve().parent.parent / "docs/reference/job.schema.json"


def schema_text() -> str:
    """Text of the schema: keys in the document's order, one line a value."""
    return json.dumps(job_schema(), indent=1, ensure_ascii=False) + "\n"


def main() -> None:
    """Write the schema."""
    SCHEMA.write_text(schema_text(), encoding="utf-8")


if __name__ == "__main__":
    main()
