# Fuzz targets: tests/fuzz/fuzz_<what>.cpp make fuzz_<what>, linked with the instrumented objects up to the tile and of all
# that reads results.

file(GLOB tileflux_fuzz_sources CONFIGURE_DEPENDS ${PROJECT_SOURCE_DIR}/tests/fuzz/fuzz_*.cpp)
tileflux_objects_of(tileflux_fuzz_objects tile)
tileflux_objects_of(tileflux_fuzz_readers report)
list(APPEND tileflux_fuzz_objects ${tileflux_fuzz_readers})
list(REMOVE_DUPLICATES tileflux_fuzz_objects)
add_custom_target(fuzz COMMENT "All fuzz targets")
foreach(source IN LISTS tileflux_fuzz_sources)
  cmake_path(GET source STEM name)
  add_executable(${name} ${source})
  add_dependencies(fuzz ${name})
  target_include_directories(${name} PRIVATE
    ${PROJECT_SOURCE_DIR}/include ${PROJECT_SOURCE_DIR}/src ${PROJECT_SOURCE_DIR}/tests)
  target_compile_definitions(${name} PRIVATE TILEFLUX_PROJECT_DIR="${PROJECT_SOURCE_DIR}")
  target_link_libraries(${name} PRIVATE tileflux_settings Eigen3::Eigen ${tileflux_fuzz_objects})
  target_link_options(${name} PRIVATE -fsanitize=fuzzer)
  set_target_properties(${name} PROPERTIES RUNTIME_OUTPUT_DIRECTORY ${PROJECT_BINARY_DIR}/fuzz)
endforeach()
