# cmake --install, find_package(platetally) and the Debian package (cpack -G DEB).
include(GNUInstallDirs)
include(CMakePackageConfigHelpers)

install(TARGETS platetally EXPORT platetally-targets ARCHIVE DESTINATION ${CMAKE_INSTALL_LIBDIR})
install(TARGETS platetally-cli RUNTIME DESTINATION ${CMAKE_INSTALL_BINDIR})
install(DIRECTORY include/platetally DESTINATION ${CMAKE_INSTALL_INCLUDEDIR} FILES_MATCHING PATTERN "*.hpp" PATTERN "*.h")
set(package_folder ${CMAKE_INSTALL_LIBDIR}/cmake/platetally)
install(EXPORT platetally-targets NAMESPACE platetally:: DESTINATION ${package_folder})
configure_package_config_file(tools/platetally-config.cmake.in ${CMAKE_BINARY_DIR}/generated/platetally-config.cmake
  INSTALL_DESTINATION ${package_folder})
write_basic_package_version_file(${CMAKE_BINARY_DIR}/generated/platetally-config-version.cmake
  COMPATIBILITY SameMinorVersion)
install(FILES ${CMAKE_BINARY_DIR}/generated/platetally-config.cmake
  ${CMAKE_BINARY_DIR}/generated/platetally-config-version.cmake DESTINATION ${package_folder})
# Man page and completions, written by the program that they describe.
set(shell_help ${CMAKE_BINARY_DIR}/generated/shell)
add_custom_command(OUTPUT ${shell_help}/platetally.1
  COMMAND ${CMAKE_COMMAND} -E make_directory ${shell_help}
  COMMAND $<TARGET_FILE:platetally-cli> --man-page > ${shell_help}/platetally.1
  COMMAND $<TARGET_FILE:platetally-cli> --completion bash > ${shell_help}/platetally
  COMMAND $<TARGET_FILE:platetally-cli> --completion zsh > ${shell_help}/_platetally
  COMMAND $<TARGET_FILE:platetally-cli> --completion fish > ${shell_help}/platetally.fish
  DEPENDS platetally-cli VERBATIM COMMENT "Writing the man page and completions")
add_custom_target(platetally-shell-help ALL DEPENDS ${shell_help}/platetally.1)
install(FILES ${shell_help}/platetally.1 DESTINATION ${CMAKE_INSTALL_MANDIR}/man1)
install(FILES ${shell_help}/platetally DESTINATION ${CMAKE_INSTALL_DATADIR}/bash-completion/completions)
install(FILES ${shell_help}/_platetally DESTINATION ${CMAKE_INSTALL_DATADIR}/zsh/vendor-completions)
install(FILES ${shell_help}/platetally.fish DESTINATION ${CMAKE_INSTALL_DATADIR}/fish/vendor_completions.d)
install(FILES README.md DESTINATION ${CMAKE_INSTALL_DOCDIR})
install(DIRECTORY docs/ DESTINATION ${CMAKE_INSTALL_DOCDIR})

set(CPACK_GENERATOR DEB)
set(CPACK_PACKAGE_NAME platetally)
set(CPACK_PACKAGE_CONTACT "platetally <platetally@localhost>")
set(CPACK_PACKAGE_DESCRIPTION_SUMMARY "says what a sliced plate will cost before it is printed")
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_STRIP_FILES ON)
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_SECTION utils)
set(CPACK_DEBIAN_PACKAGE_SHLIBDEPS ON)
# Using the C++ library, not the program, needs the headers of what it is linked with.
set(CPACK_DEBIAN_PACKAGE_SUGGESTS
  "python3, python3-numpy, libfmt-dev, libarchive-dev, zlib1g-dev, libsqlite3-dev, libxxhash-dev, libceres-dev, coinor-libcbc-dev, libunistring-dev, pkg-config, cmake")
include(CPack)
