# The C interface as a shared library, and the Python module over it.
include(GNUInstallDirs)

set(c_interface src/output/c/c_interface.cpp src/output/c/c_reports.cpp src/output/c/c_parts.cpp)
add_library(platetally-c SHARED ${c_interface})
# Of the C interface, not of the program: the first number goes up when a program that was linked with it no longer
# runs, the second when something is added (docs/promise.md).
set(interface_generation 1)
set(interface_version ${interface_generation}.0.0)
add_library(platetally::c ALIAS platetally-c)
target_link_libraries(platetally-c PRIVATE $<BUILD_INTERFACE:platetally> $<BUILD_INTERFACE:platetally_flags>)
target_include_directories(platetally-c PUBLIC $<BUILD_INTERFACE:${CMAKE_SOURCE_DIR}/include> $<INSTALL_INTERFACE:include>)
set_target_properties(platetally-c PROPERTIES OUTPUT_NAME platetally EXPORT_NAME c
  VERSION ${interface_version} SOVERSION ${interface_generation})
# What the library shows is its C interface, and nothing of what it is built from; it needs no library that it does not use.
target_link_options(platetally-c PRIVATE -Wl,--exclude-libs,ALL -Wl,--as-needed)

set(PLATETALLY_PYTHON AUTO CACHE STRING "The Python module: AUTO (with pybind11 and NumPy), ON, OFF")
set(PLATETALLY_HAS_PYTHON OFF)
if(NOT PLATETALLY_PYTHON STREQUAL "OFF" AND NOT PLATETALLY_SANITIZE)
  # The system's Python, whose packages the system's pybind11 and NumPy are; another one is asked for by name.
  if(NOT DEFINED Python_EXECUTABLE AND EXISTS /usr/bin/python3)
    set(Python_EXECUTABLE /usr/bin/python3)
  endif()
  find_package(Python 3.9 COMPONENTS Interpreter Development.Module NumPy QUIET)
  find_package(pybind11 2.10 CONFIG QUIET)
  if(Python_FOUND AND pybind11_FOUND)
    set(PLATETALLY_HAS_PYTHON ON)
  elseif(PLATETALLY_PYTHON STREQUAL "ON")
    message(FATAL_ERROR "PLATETALLY_PYTHON=ON needs Python 3.9 or later with headers and NumPy, and pybind11 2.10 or later")
  else()
    message(STATUS "No Python module: no Python headers, NumPy or pybind11")
  endif()
endif()
if(PLATETALLY_HAS_PYTHON)
  set(python_package ${CMAKE_BINARY_DIR}/python/platetally)
  # It holds the C interface itself, so that it runs wherever it lies.
  pybind11_add_module(platetally-python MODULE NO_EXTRAS src/output/python/core.cpp ${c_interface})
  target_link_libraries(platetally-python PRIVATE platetally platetally_flags)
  target_link_options(platetally-python PRIVATE -Wl,--as-needed)
  set_target_properties(platetally-python PROPERTIES OUTPUT_NAME _core LIBRARY_OUTPUT_DIRECTORY ${python_package})
  configure_file(src/output/python/platetally/__init__.py ${python_package}/__init__.py COPYONLY)
endif()
