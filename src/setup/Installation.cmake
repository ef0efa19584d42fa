# cmake --install: the command, the library with its headers, the CMake package, the materials and the cases.

include(CMakePackageConfigHelpers)
set(tileflux_package_dir ${CMAKE_INSTALL_LIBDIR}/cmake/tileflux)

install(TARGETS tileflux)
install(TARGETS tileflux_library EXPORT tileflux_targets)
install(EXPORT tileflux_targets NAMESPACE tileflux:: FILE tileflux-targets.cmake DESTINATION ${tileflux_package_dir})
install(DIRECTORY ${PROJECT_SOURCE_DIR}/include/tileflux DESTINATION ${CMAKE_INSTALL_INCLUDEDIR}
        FILES_MATCHING PATTERN "*.h")
install(DIRECTORY ${PROJECT_SOURCE_DIR}/materials ${PROJECT_SOURCE_DIR}/cases DESTINATION ${CMAKE_INSTALL_DATADIR}/tileflux)

configure_package_config_file(${PROJECT_SOURCE_DIR}/src/setup/tileflux-config.cmake.in
  ${PROJECT_BINARY_DIR}/tileflux-config.cmake INSTALL_DESTINATION ${tileflux_package_dir})
write_basic_package_version_file(${PROJECT_BINARY_DIR}/tileflux-config-version.cmake COMPATIBILITY SameMinorVersion)
install(FILES ${PROJECT_BINARY_DIR}/tileflux-config.cmake ${PROJECT_BINARY_DIR}/tileflux-config-version.cmake
        DESTINATION ${tileflux_package_dir})
