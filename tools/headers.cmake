# With PLATETALLY_PCH: what most files include is parsed once and not once a file. Half a second a file; a build
# with a compiler cache does without, as such caches do not like it. Files still include what they use: builds without it,
# clang-tidy's among them, find what is missing.
set(platetally_headers <algorithm> <array> <bit> <charconv> <chrono> <cmath> <cstddef> <cstdint> <functional> <limits> <map>
  <memory> <numeric> <optional> <set> <span> <stdexcept> <string> <string_view> <utility> <vector>
  <fmt/format.h> <fmt/ranges.h>)

# platetally_use_headers(TARGET OWNER HEADER...): the first target of an OWNER parses the headers, later ones take its own.
# What an owner's targets share: macros, and whether code may lie anywhere.
function(platetally_use_headers target owner)
  if(NOT PLATETALLY_PCH)
    return()
  endif()
  # A file whose macros are others reads the headers itself. GCC 12 takes the library's own lines in a precompiled header for
  # ours, and warns of copies of short strings there; builds without it keep the warning.
  set_target_properties(${target} PROPERTIES PCH_WARN_INVALID OFF)
  target_compile_options(${target} PRIVATE "$<$<CXX_COMPILER_ID:GNU>:-Wno-array-bounds;-Wno-stringop-overflow;-Wno-stringop-overread>")
  get_property(first GLOBAL PROPERTY headers_${owner})
  if(first)
    target_precompile_headers(${target} REUSE_FROM ${first})
  else()
    target_precompile_headers(${target} PRIVATE ${platetally_headers} ${ARGN})
    set_property(GLOBAL PROPERTY headers_${owner} ${target})
  endif()
endfunction()
