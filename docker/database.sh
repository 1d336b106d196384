#!/bin/sh
# Run once, when the database's volume is new: the service is a plain role that owns its database.
# PostgreSQL asks a superuser nothing, so the wall between firms would not hold one.
set -eu

# The image has read the password's file by now, and no longer names it.
password=${POSTGRES_PASSWORD:-}
[ -n "$password" ] || password=$(cat "$POSTGRES_PASSWORD_FILE")

psql --username "$POSTGRES_USER" --set ON_ERROR_STOP=1 --set password="$password" <<'SQL'
CREATE ROLE clipping LOGIN PASSWORD :'password';
CREATE DATABASE clipping OWNER clipping;
SQL
