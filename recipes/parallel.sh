#!/usr/bin/env bash
# Prepares all jobs of a folder side by side by GNU parallel, and goes on where it was
# after a stop, however it was stopped:
#
#   recipes/parallel.sh FOLDER [JOBS AT ONCE]
#
# parallel.log in FOLDER is parallel's list of what is done, by which it goes on, jobs.jsonl
# the tool's own, a line a job, and messages.txt what it said. A job that was cut short has
# left nothing, or is found done; one that failed is tried again by the next call. It
# prepares programs; nobody burns unattended.
set -euo pipefail
cd -- "$1"

# A kill may have left the last line of the list half written: parallel would stop at it.
if [ -f parallel.log ]; then
  awk -F '\t' 'NF >= 9' parallel.log >parallel.log.whole
  mv -f parallel.log.whole parallel.log
fi

# Job files are told from lens records and machine profiles by the program that they name.
grep -lZ '^[[:space:]]*program[[:space:]]*=' ./*.toml |
  parallel --will-cite --null --jobs "${2:-100%}" --joblog parallel.log --resume-failed \
    'sagitta run -j 1 --log jobs.jsonl {} 2>>messages.txt'
