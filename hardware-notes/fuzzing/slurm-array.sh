#!/bin/sh
#SBATCH --job-name=standoff
#SBATCH --cpus-per-task=1
#SBATCH --output=shard-%a.log
#SBATCH --open-mode=append
#SBATCH --requeue
# One task of the array runs one shard; slurm.sh submits them. A task that is queued again goes on where it was.
set -eu
# Told to end, the shell waits for standoff, which keeps what is complete.
trap : TERM
index=$((SLURM_ARRAY_TASK_ID - SLURM_ARRAY_TASK_MIN + 1))
# A shard that breaks a requirement ends with 1: that is a result. What counts is the joined one.
${STANDOFF:-standoff} fuzz "$@" --workers "${SLURM_CPUS_PER_TASK:-1}" --shard "$index/$SLURM_ARRAY_TASK_COUNT" \
  --out "shard-$index.json" --resume || test $? -eq 1
