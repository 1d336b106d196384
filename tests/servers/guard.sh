#!/bin/sh
# Run a server as long as its owner lives: guard OWNER_PID DIRECTORY ACCOUNT COMMAND...
#
# A test run may end in any way, by a signal that nobody can catch too. So it is not the run that
# ends the server but this process: it waits for whichever of the two goes first, stops the server
# and removes its files. A shell, because an account that the server runs as may not be allowed to
# read the interpreter that runs the tests. ACCOUNT is a name, or "-" to stay who we are.
set -u
owner=$1 directory=$2 account=$3
shift 3
cd "$directory" || exit 1

if [ "$account" = - ]; then
    "$@" &
else
    setpriv --reuid "$account" --regid "$(id -g "$account")" --clear-groups -- "$@" &
fi
server=$!

while [ -d "/proc/$owner" ] && kill -0 "$server" 2>/dev/null; do
    sleep 0.2
done

kill -QUIT "$server" 2>/dev/null # an immediate shutdown: nothing in it is kept
wait "$server"
cd / && rm -rf "$directory"
