#!/usr/bin/env bash
# Prepares all jobs of a folder as an array of Slurm, waits for it, and goes on where it was
# when it is called again, however it was stopped:
#
#   recipes/slurm.sh FOLDER [TASKS [TASKS AT ONCE]]
#
# FOLDER is one that all nodes see at the same place, as they do the tool. Each task does its
# share of the jobs; jobs-N.jsonl in FOLDER is the list of what task N has done, a line a job,
# and messages-N.txt what was said. A job that was cut short has left nothing, or is found done;
# one that failed is tried again by the next call. The status is not 0 where a job failed or a
# task was cut short. It prepares programs; nobody burns unattended.
set -euo pipefail

if [ -z "${SLURM_ARRAY_TASK_ID:-}" ]; then
  self=$(realpath -- "${BASH_SOURCE[0]}")
  cd -- "$1"
  # Job files are told from lens records and machine profiles by the program that they name.
  grep -lZ '^[[:space:]]*program[[:space:]]*=' ./*.toml >slurm.list
  jobs=$(tr -cd '\0' <slurm.list | wc -c)
  tasks=${2:-16}
  [ "$tasks" -le "$jobs" ] || tasks=$jobs
  exec sbatch --wait --quiet --requeue --job-name=sagitta --ntasks=1 \
    --array="0-$((tasks - 1))%${3:-$tasks}" \
    --output=messages-%a.txt --open-mode=append "$self"
fi

mapfile -d '' -t all <slurm.list
mine=()
for ((k = SLURM_ARRAY_TASK_ID; k < ${#all[@]}; k += SLURM_ARRAY_TASK_COUNT)); do
  mine+=("${all[k]}")
done
exec sagitta run -j "${SLURM_CPUS_PER_TASK:-1}" --log "jobs-$SLURM_ARRAY_TASK_ID.jsonl" "${mine[@]}"
