#!/bin/sh
# Take secrets from files where they are handed over as files (NAME_FILE holds the path), so that
# they stand neither in the image nor in what an engine shows of a container. Then run the command.
set -eu

for name in CLIPPING_DATABASE_URL CLIPPING_SIGNING_KEY CLIPPING_FORMER_SIGNING_KEYS \
    CLIPPING_METRICS_KEY PGPASSWORD; do
    eval "file=\${${name}_FILE:-}"
    if [ -n "$file" ]; then
        value=$(cat "$file")
        export "$name=$value"
        unset "${name}_FILE"
    fi
done

exec clipping-dispatch "$@"
