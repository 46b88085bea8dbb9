# cmake --install and find_package(platetally). tools/package makes Debian packages of the components: program, c (the
# shared library), development, python. What a build did not make (tools/demo builds the program alone) is left out.
include(GNUInstallDirs)
include(CMakePackageConfigHelpers)
option(PLATETALLY_MULTIARCH "On Debian, libraries go to lib/TRIPLET below any prefix, where Debian's tools look for them" ON)
if(PLATETALLY_MULTIARCH AND EXISTS /etc/debian_version AND CMAKE_LIBRARY_ARCHITECTURE AND CMAKE_INSTALL_LIBDIR STREQUAL "lib")
  set(CMAKE_INSTALL_LIBDIR lib/${CMAKE_LIBRARY_ARCHITECTURE})
endif()
set(package_folder ${CMAKE_INSTALL_LIBDIR}/cmake/platetally)
set(generated ${CMAKE_BINARY_DIR}/generated)

# install_beside(TARGET DESTINATION COMPONENT file...): where the target was built.
function(install_beside target destination component)
  install(CODE "if(EXISTS \"$<TARGET_FILE:${target}>\")
    file(INSTALL DESTINATION \"\${CMAKE_INSTALL_PREFIX}/${destination}\" TYPE FILE FILES ${ARGN})
  endif()" COMPONENT ${component})
endfunction()

install(TARGETS platetally-cli RUNTIME DESTINATION ${CMAKE_INSTALL_BINDIR} COMPONENT program OPTIONAL)
# Man page and completions, written by the program that they describe.
set(shell_help ${generated}/shell)
add_custom_command(OUTPUT ${shell_help}/platetally.1
  COMMAND ${CMAKE_COMMAND} -E make_directory ${shell_help}
  COMMAND $<TARGET_FILE:platetally-cli> --man-page > ${shell_help}/platetally.1
  COMMAND $<TARGET_FILE:platetally-cli> --completion bash > ${shell_help}/platetally
  COMMAND $<TARGET_FILE:platetally-cli> --completion zsh > ${shell_help}/_platetally
  COMMAND $<TARGET_FILE:platetally-cli> --completion fish > ${shell_help}/platetally.fish
  DEPENDS platetally-cli VERBATIM COMMENT "Writing the man page and completions")
add_custom_target(platetally-shell-help ALL DEPENDS ${shell_help}/platetally.1)
install(FILES ${shell_help}/platetally.1 DESTINATION ${CMAKE_INSTALL_MANDIR}/man1 COMPONENT program OPTIONAL)
install(FILES ${shell_help}/platetally DESTINATION ${CMAKE_INSTALL_DATADIR}/bash-completion/completions COMPONENT program OPTIONAL)
install(FILES ${shell_help}/_platetally DESTINATION ${CMAKE_INSTALL_DATADIR}/zsh/vendor-completions COMPONENT program OPTIONAL)
install(FILES ${shell_help}/platetally.fish DESTINATION ${CMAKE_INSTALL_DATADIR}/fish/vendor_completions.d COMPONENT program OPTIONAL)
install(FILES README.md DESTINATION ${CMAKE_INSTALL_DOCDIR} COMPONENT program)
install(DIRECTORY docs/ DESTINATION ${CMAKE_INSTALL_DOCDIR} COMPONENT program)
# Recipes for several computers, and a service of systemd, which reads /usr/lib and no other prefix.
install(PROGRAMS tools/cluster/audit-parallel tools/cluster/audit.sbatch
  DESTINATION ${CMAKE_INSTALL_DATADIR}/platetally/cluster COMPONENT program)
install(FILES tools/packaging/systemd/platetally-watch@.service tools/packaging/systemd/platetally-audit@.service
  tools/packaging/systemd/platetally-audit@.timer DESTINATION lib/systemd/system COMPONENT program)
install(FILES tools/packaging/systemd/platetally.sysusers DESTINATION lib/sysusers.d RENAME platetally.conf COMPONENT program)
install(FILES tools/packaging/etc/platetally/example.conf DESTINATION ${CMAKE_INSTALL_DATADIR}/platetally COMPONENT program)

install(TARGETS platetally EXPORT platetally-targets ARCHIVE DESTINATION ${CMAKE_INSTALL_LIBDIR} COMPONENT development OPTIONAL)
install(TARGETS platetally-calibrate EXPORT platetally-calibrate-targets
  ARCHIVE DESTINATION ${CMAKE_INSTALL_LIBDIR} COMPONENT development OPTIONAL)
install(TARGETS platetally-c EXPORT platetally-c-targets
  LIBRARY DESTINATION ${CMAKE_INSTALL_LIBDIR} COMPONENT c OPTIONAL NAMELINK_SKIP)
install_beside(platetally-c ${CMAKE_INSTALL_LIBDIR} development $<TARGET_LINKER_FILE:platetally-c>)
install(DIRECTORY include/platetally DESTINATION ${CMAKE_INSTALL_INCLUDEDIR} COMPONENT development
  FILES_MATCHING PATTERN "*.hpp" PATTERN "*.h")
foreach(set platetally platetally-calibrate platetally-c)
  install(EXPORT ${set}-targets NAMESPACE platetally:: DESTINATION ${package_folder} COMPONENT development)
endforeach()
configure_package_config_file(tools/platetally-config.cmake.in ${generated}/platetally-config.cmake
  INSTALL_DESTINATION ${package_folder} PATH_VARS CMAKE_INSTALL_LIBDIR)
write_basic_package_version_file(${generated}/platetally-config-version.cmake COMPATIBILITY SameMinorVersion)
install(FILES ${generated}/platetally-config.cmake ${generated}/platetally-config-version.cmake
  DESTINATION ${package_folder} COMPONENT development)
# The prefix follows from where the file lies, so it is right wherever that is.
if(IS_ABSOLUTE "${CMAKE_INSTALL_LIBDIR}" OR IS_ABSOLUTE "${CMAKE_INSTALL_INCLUDEDIR}")
  set(pc_prefix ${CMAKE_INSTALL_PREFIX})
  set(pc_libdir ${CMAKE_INSTALL_FULL_LIBDIR})
  set(pc_includedir ${CMAKE_INSTALL_FULL_INCLUDEDIR})
else()
  file(RELATIVE_PATH pc_prefix /prefix/${CMAKE_INSTALL_LIBDIR}/pkgconfig /prefix)
  string(REGEX REPLACE "/$" "" pc_prefix "\${pcfiledir}/${pc_prefix}")
  set(pc_libdir "\${prefix}/${CMAKE_INSTALL_LIBDIR}")
  set(pc_includedir "\${prefix}/${CMAKE_INSTALL_INCLUDEDIR}")
endif()
configure_file(tools/platetally.pc.in ${generated}/platetally.pc @ONLY)
install_beside(platetally-c ${CMAKE_INSTALL_LIBDIR}/pkgconfig development ${generated}/platetally.pc)

if(PLATETALLY_HAS_PYTHON)
  # Where Debian's Python looks when the prefix is /usr.
  set(PLATETALLY_PYTHON_FOLDER lib/python3/dist-packages CACHE STRING "Where the Python module is installed, below the prefix")
  install(TARGETS platetally-python LIBRARY DESTINATION ${PLATETALLY_PYTHON_FOLDER}/platetally COMPONENT python OPTIONAL)
  install_beside(platetally-python ${PLATETALLY_PYTHON_FOLDER}/platetally python
    ${CMAKE_SOURCE_DIR}/src/output/python/platetally/__init__.py)
endif()
