#!/bin/sh
#SBATCH --job-name=standoff
#SBATCH --cpus-per-task=1
#SBATCH --output=shard-%a.log
# One task of the array runs one shard: sbatch --array=1-8 slurm-array.sh --runs 100000 --seed 1
set -eu
index=$((SLURM_ARRAY_TASK_ID - SLURM_ARRAY_TASK_MIN + 1))
${STANDOFF:-standoff} fuzz "$@" --workers "${SLURM_CPUS_PER_TASK:-1}" --shard "$index/$SLURM_ARRAY_TASK_COUNT" \
  --out "shard-$index.json" || test $? -eq 1
