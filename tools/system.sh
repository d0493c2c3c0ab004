#!/usr/bin/env bash
# Programs of the system that the tests need and the package index does not carry.
# Present: nothing is done.  Missing: installed when we may; else the exact command is told.
set -euo pipefail

declare -A package_of=([pdftoppm]=poppler-utils [chromium]=chromium)

missing=()
for program in "${!package_of[@]}"; do
    command -v "$program" >/dev/null || missing+=("${package_of[$program]}")
done
[ ${#missing[@]} -gt 0 ] || exit 0

command="apt-get update && apt-get install -y --no-install-recommends ${missing[*]}"

if ! command -v apt-get >/dev/null; then
    echo "The tests need ${missing[*]}; install them with your system's package manager, then run this again." >&2
    exit 1
fi
if [ "$(id -u)" -eq 0 ]; then
    as_root=""
elif command -v sudo >/dev/null && sudo -n true 2>/dev/null; then
    as_root="sudo -n"
else
    echo "The tests need ${missing[*]}; install them with: sudo sh -c '$command'" >&2
    exit 1
fi

echo "installing ${missing[*]} ..."
export DEBIAN_FRONTEND=noninteractive
log=$(mktemp)
trap 'rm -f "$log"' EXIT
{ $as_root apt-get update && $as_root apt-get install -y --no-install-recommends "${missing[@]}"; } >"$log" 2>&1 ||
    { tail -n 20 "$log" >&2; exit 1; }
