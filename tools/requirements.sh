#!/usr/bin/env bash
# Resolves pyproject.toml into the hashed exports that the set-up installs.  They hold no address,
# so that each computer's own package index is asked.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."

resolve() {
    .venv/bin/uv pip compile --quiet --universal --python-version 3.11 \
        --generate-hashes --no-header --no-annotate "$@" >/dev/null
}

resolve pyproject.toml --group build --extra geo --extra plan --output-file requirements/run.txt
resolve pyproject.toml --group build --extra geo --extra plan --group dev \
    --constraints requirements/run.txt --output-file requirements/test.txt
sed -n '/^uv==/,/^[^ ]/{/^uv==/p;/^ /p}' requirements/run.txt >requirements/start.txt
resolve --group node --output-file requirements/node.txt
