# SPDX-License-Identifier: GPL-3.0-or-later
# Install rules, and the core as a CMake package: find_package(fourbeat) gives fourbeat::base …
include(CMakePackageConfigHelpers)

set(fourbeat_core base audio dsp model store check fit drive deliver work)
list(TRANSFORM fourbeat_core PREPEND fourbeat_ OUTPUT_VARIABLE fourbeat_core_targets)
install(TARGETS ${fourbeat_core_targets} EXPORT fourbeatTargets
  ARCHIVE DESTINATION ${CMAKE_INSTALL_LIBDIR}
  FILE_SET HEADERS DESTINATION ${CMAKE_INSTALL_INCLUDEDIR})
install(EXPORT fourbeatTargets NAMESPACE fourbeat::
  DESTINATION ${CMAKE_INSTALL_LIBDIR}/cmake/fourbeat)
configure_package_config_file(src/cmake/fourbeatConfig.cmake.in
  "${CMAKE_CURRENT_BINARY_DIR}/fourbeatConfig.cmake"
  INSTALL_DESTINATION ${CMAKE_INSTALL_LIBDIR}/cmake/fourbeat)
write_basic_package_version_file("${CMAKE_CURRENT_BINARY_DIR}/fourbeatConfigVersion.cmake"
  COMPATIBILITY SameMinorVersion)
install(FILES "${CMAKE_CURRENT_BINARY_DIR}/fourbeatConfig.cmake"
  "${CMAKE_CURRENT_BINARY_DIR}/fourbeatConfigVersion.cmake"
  DESTINATION ${CMAKE_INSTALL_LIBDIR}/cmake/fourbeat)
install(TARGETS fourbeat RUNTIME DESTINATION ${CMAKE_INSTALL_BINDIR})
install(DIRECTORY shared/ DESTINATION ${CMAKE_INSTALL_DATADIR}/fourbeat)
install(FILES LICENSE README.md DESTINATION ${CMAKE_INSTALL_DOCDIR})
install(FILES docs/man/fourbeat.1 DESTINATION ${CMAKE_INSTALL_MANDIR}/man1)
