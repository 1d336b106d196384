#!/bin/sh
# Take secrets from files where they are handed over as files (NAME_FILE holds the path), so that
# they stand neither in the image nor in what an engine shows of a container. Then run the command.
set -eu

for name in CLIPPING_DATABASE_URL CLIPPING_SIGNING_KEY PGPASSWORD; do
    eval "file=\${${name}_FILE:-}"
    if [ -n "$file" ]; then
        value=$(cat "$file")
        export "$name=$value"
        unset "${name}_FILE"
    fi
done

# What was compiled for the image; it is used only from where it could also be written.
if [ ! -d "$NUMBA_CACHE_DIR" ]; then
    cp -R /opt/clipping-dispatch/compiled "$NUMBA_CACHE_DIR"
fi

exec clipping-dispatch "$@"
