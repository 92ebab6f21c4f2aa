#!/bin/sh
# Runs the shards of a campaign as processes of their own, and joins them. Broken off: the same line again goes on.
# Usage: parallel.sh <shards> [options of standoff fuzz]   ->   shard-1.json … and campaign.json in this folder
set -eu
shards=$1
shift
standoff=${STANDOFF:-standoff}
export shards standoff
# A shard that breaks a requirement ends with 1: that is a result. What counts is the joined one.
# Told to end, standoff keeps what is complete; nothing is killed before 20 s are over.
# shellcheck disable=SC2016
shard='index=$1
  shift
  $standoff fuzz "$@" --workers 1 --shard "$index/$shards" --out "shard-$index.json" --resume > "shard-$index.log" ||
    test $? -eq 1'
seq "$shards" | parallel --quote --halt soon,fail=1 --termseq TERM,20000,KILL sh -c "$shard" shard {} "$@"
files=$(seq "$shards" | sed 's/.*/shard-&.json/')
# shellcheck disable=SC2086
exec $standoff merge $files --out campaign.json
