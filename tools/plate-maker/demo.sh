#!/usr/bin/env bash
# Writes the committed plates and their truths again: demo.sh PLATE-MAKER FOLDER
set -euo pipefail
maker=$1
out=$2
mkdir -p "$out/demo" "$out/plates"
make_plate() { # FOLDER NAME KIND OPTIONS...
  local folder=$1 name=$2
  shift 2
  "$maker" "$@" -o "$out/$folder/$name.gcode" --truth "$out/$folder/$name.truth.json"
  gzip -n -9 -f "$out/$folder/$name.gcode"
}
make_plate demo labels labels --copies 12 --layers 8 --purge tower --purge-mm3 60 --comments words --hop-mm 0.4
make_plate demo lantern lantern --layers 103 --x-mm 100 --y-mm 100 --purge tower --purge-mm3 49.6
make_plate plates selected-twice-absolute block --colours 2 --layers 12 --size-mm 24 --absolute-e --select-twice
make_plate plates relative block --colours 2 --layers 9 --size-mm 24 --order ascending
make_plate plates firmware-retract-parked block --colours 3 --layers 8 --size-mm 30 --firmware-retract --park-at-end
make_plate plates crlf block --colours 2 --layers 5 --size-mm 20 --absolute-e --crlf
make_plate plates lf block --colours 2 --layers 5 --size-mm 20 --absolute-e
make_plate plates arcs ring --colours 2 --layers 10 --size-mm 40 --purge chute --purge-mm3 90
make_plate plates hops-relative block --colours 2 --layers 6 --size-mm 20 --hop-mm 0.6 --relative-hops
make_plate plates spiral block --colours 1 --layers 12 --size-mm 30 --spiral
make_plate plates waves block --colours 1 --layers 6 --size-mm 30 --waves
make_plate plates sequential block --colours 2 --layers 6 --size-mm 20 --copies 2 --sequential
make_plate plates one-layer block --colours 1 --layers 1 --size-mm 20
make_plate plates no-layer block --colours 1 --layers 0
make_plate plates tower-ahead lantern --layers 10 --size-mm 30 --purge tower --purge-mm3 40 --tower-ahead
make_plate plates line-in-bed lantern --layers 12 --size-mm 30 --x-mm 40 --y-mm 60 --purge line --purge-mm3 60
make_plate plates copies-no-tower block --colours 2 --layers 8 --size-mm 18 --copies 4
