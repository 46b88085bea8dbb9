# Plain arithmetic over columns; see the first lines of move_block.cpp.
set(plain_arithmetic src/reading/gcode/decimal.cpp src/reading/interpreter/stroke_batch.cpp src/motion/planning/cruise_share.cpp
  src/motion/planning/move_block.cpp src/motion/planning/window_sums.cpp src/heat/dense.cpp src/heat/network.cpp src/base/columns.cpp
  src/account/ledgers/footprint.cpp)
set(plain_arithmetic_options -O3 -fno-math-errno -fno-trapping-math)
