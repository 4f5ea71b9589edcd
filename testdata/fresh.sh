#!/bin/sh
# Tries the README's two commands on a fresh machine: a bare Debian 12 root with git,
# make, ca-certificates and this machine's Go, in which the last commit is cloned. Of
# this machine it uses how apt and Go reach their packages, and nothing else. Takes root.
set -eu
cd "$(dirname "$0")/.."

fail() {
	echo "$1" >&2
	exit 1
}

# outside gives the rest a folder and a namespace, and clears up after it. What is mounted
# in the namespace is not seen from here, and is gone with the last process in it, however
# that ends. Should something be mounted in the folder all the same, nothing is removed.
outside() {
	[ "$(id -u)" -eq 0 ] || fail "A fresh machine is made as root only."
	grep -qx VERSION_CODENAME=bookworm /etc/os-release || fail "A fresh Debian 12 is made on Debian 12 only, with its sources."
	[ -z "$(git status --porcelain)" ] || echo "What is not committed is not tried." >&2

	dir=$(realpath "$(mktemp -d)")
	running=
	trap tidy EXIT
	trap 'exit 129' HUP
	trap 'exit 130' INT
	trap 'exit 143' TERM

	unshare --mount --pid --fork --kill-child --mount-proc "$PWD/testdata/fresh.sh" "$dir" &
	running=$!
	status=0
	wait "$running" || status=$?
	running=
	[ "$status" -eq 0 ] || fail "A fresh machine fails: see above."
	echo "Both commands pass on a fresh machine."
}

tidy() {
	trap '' HUP INT TERM
	if [ -n "$running" ]; then
		kill -KILL "$running" || true
		wait "$running" || true
		sleep 1 # until the kernel has ended all that ran in the namespace
	fi
	if grep -q " $dir/" /proc/self/mounts; then
		fail "Something is mounted below $dir: unmount it, then remove the folder."
	fi
	rm -rf --one-file-system "$dir"
}

# inside makes the root and runs the commands there.
inside() {
	dir=$1
	root=$dir/root

	apt-config dump Acquire | grep -v '^Acquire::IndexTargets' >"$dir/apt.conf"
	set --
	for sources in /etc/apt/sources.list /etc/apt/sources.list.d/*.list /etc/apt/sources.list.d/*.sources; do
		[ ! -s "$sources" ] || set -- "$@" "$sources"
	done
	mmdebstrap --quiet --mode=root --variant=minbase --include=git,make,ca-certificates \
		--aptopt="$dir/apt.conf" bookworm "$root" "$@"

	git clone -q --no-hardlinks . "$root/root/nightpair"
	cp -rL "$(go env GOROOT)" "$root/usr/local/go"
	cp -L /etc/resolv.conf /etc/hosts "$root/etc/"
	cp -L "${SSL_CERT_FILE:-/etc/ssl/certs/ca-certificates.crt}" "$root/etc/ssl/certs/ca-certificates.crt"

	set -- HOME=/root PATH=/usr/local/go/bin:/usr/local/sbin:/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin
	for name in http_proxy https_proxy no_proxy all_proxy HTTP_PROXY HTTPS_PROXY NO_PROXY ALL_PROXY; do
		if value=$(printenv "$name"); then
			set -- "$@" "$name=$value"
		fi
	done
	for name in GOPROXY GONOPROXY GOSUMDB GONOSUMDB GOPRIVATE GOINSECURE GOFLAGS GOTOOLCHAIN; do
		set -- "$@" "$name=$(go env "$name")"
	done

	mount -t proc proc "$root/proc"
	mount --rbind /sys "$root/sys"
	mount --rbind /dev "$root/dev"
	chroot "$root" env -i "$@" sh -exc 'cd /root/nightpair; make demo; make test'
}

if [ $# -eq 0 ]; then
	outside
else
	inside "$1"
fi
