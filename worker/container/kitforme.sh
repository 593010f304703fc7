#!/bin/sh
# The command in a container. Works as whoever owns the shop's folder, so that the worker may write there and what it writes
# is theirs. Where that is root, or root inside of a rootless engine, or `user:` says who it is to be, there is nothing to change.
set -e
home="$(dirname "$0")/../bin/kitforme.mjs"
shop="$(dirname "${KITFORME_SHOP:-/shop/shop.json}")"
owner="$(stat -c %u "$shop" 2>/dev/null || echo 0)"
if [ "$(id -u)" != 0 ] || [ "$owner" = 0 ]; then exec node "$home" "$@"; fi
exec setpriv --reuid="$owner" --regid="$(stat -c %g "$shop")" --clear-groups node "$home" "$@"
