#!/bin/sh
# Queues the shards of a campaign as an array of Slurm, and behind them the job that joins them. Broken off, out of time,
# or a node lost: the same line again goes on.
# Usage: slurm.sh <shards> [options of standoff fuzz]   ->   shard-1.json … and campaign.json in this folder
set -eu
shards=$1
shift
array=$(sbatch --parsable --array="1-$shards" "$(dirname "$0")/slurm-array.sh" "$@")
files=$(seq "$shards" | sed 's/.*/shard-&.json/' | tr '\n' ' ')
exec sbatch --job-name=standoff-merge --output=campaign.log --dependency="afterok:${array%%;*}" --kill-on-invalid-dep=yes \
  --wrap="${STANDOFF:-standoff} merge $files --out campaign.json"
