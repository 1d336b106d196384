#!/bin/sh
# Run once, when the database's volume is new: the service is a plain role that owns its database.
# PostgreSQL asks a superuser nothing, so the wall between firms would not hold one.
set -eu

psql --username "$POSTGRES_USER" --set ON_ERROR_STOP=1 \
    --set password="$(cat "$POSTGRES_PASSWORD_FILE")" <<'SQL'
CREATE ROLE clipping LOGIN PASSWORD :'password';
CREATE DATABASE clipping OWNER clipping;
SQL
