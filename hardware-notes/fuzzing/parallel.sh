#!/bin/sh
# Runs the shards of a campaign as processes of their own, and joins them.
# Usage: parallel.sh <shards> [options of standoff fuzz]   ->   shard-1.json … and campaign.json in this folder
set -eu
shards=$1
shift
standoff=${STANDOFF:-standoff}
# A shard that breaks a law ends with 1: that is a result. What counts is the joined one.
seq "$shards" | parallel --halt soon,fail=1 \
  "$standoff fuzz $* --workers 1 --shard {}/$shards --out shard-{}.json --json > shard-{}.log || test \$? -eq 1"
files=$(seq "$shards" | sed 's/.*/shard-&.json/')
# shellcheck disable=SC2086
exec $standoff merge $files --out campaign.json
