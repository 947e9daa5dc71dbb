#!/usr/bin/env bash
# Prepares all jobs of a folder side by side by GNU parallel, and goes on where it was
# after a stop, however it was stopped:
#
#   recipes/parallel.sh FOLDER [JOBS AT ONCE]
#
# The tool itself finds out which jobs are done, and of which something has changed since:
# parallel's own list goes by the number of a job alone, and would leave out those. So each call
# has all of them looked at. parallel.log in FOLDER is parallel's list of the last call,
# jobs.jsonl the tool's own, a line a job, and messages.txt what it said. A job that was cut
# short has left nothing, or is found done; one that failed is tried again. It prepares
# programs; nobody burns unattended.
set -euo pipefail
cd -- "$1"

# Job files are told from lens records and machine profiles by the program that they name.
grep -lZ '^[[:space:]]*program[[:space:]]*=' ./*.toml |
  parallel --will-cite --null --jobs "${2:-100%}" --joblog parallel.log \
    'sagitta run -j 1 --log jobs.jsonl {} 2>>messages.txt'
