#!/bin/sh
# Installs the named Debian packages that are missing, or says what to install.
set -eu

missing=
for package in "$@"; do
	state=$(dpkg-query -W -f '${db:Status-Status}' "$package" 2>/dev/null || true)
	[ "$state" = installed ] || missing="$missing $package"
done
[ -n "$missing" ] || exit 0

fail() {
	echo "nightpair needs these Debian 12 packages:$missing" >&2
	echo "$1" >&2
	exit 1
}

command -v apt-get >/dev/null || fail "There is no apt-get here: install what corresponds to them."
if [ "$(id -u)" -eq 0 ]; then
	root=
elif command -v sudo >/dev/null; then
	root=sudo
else
	fail "Install them as root: apt-get install$missing"
fi

echo "Installing$missing" >&2
# shellcheck disable=SC2086 # word splitting is wanted
{
	$root apt-get update -q &&
		$root env DEBIAN_FRONTEND=noninteractive apt-get install -q -y --no-install-recommends $missing
} >&2 || fail "apt-get could not install them: see above."
