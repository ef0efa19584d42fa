# Tests. tests/unit/<module>/*.cpp make unit_<module>, linked with that module and what it needs only; every other folder
# of tests makes one executable of its name (install: installation), linked with the shared library.
# Tests whose suite begins with "Timing" carry the label `timing` and run alone. Properties on random values begin at one
# seed here, so that a run can be repeated; a test program started by itself chooses its own.

include(GoogleTest)
find_package(GTest REQUIRED CONFIG)
find_package(rapidcheck REQUIRED CONFIG)
set(tileflux_tests_dir ${PROJECT_SOURCE_DIR}/tests)

file(GLOB tileflux_support_sources CONFIGURE_DEPENDS ${tileflux_tests_dir}/support/*.cpp)
list(REMOVE_ITEM tileflux_support_sources ${tileflux_tests_dir}/support/write_documents.cpp)
add_library(test_settings INTERFACE)
target_include_directories(test_settings INTERFACE
  ${PROJECT_SOURCE_DIR}/include ${PROJECT_SOURCE_DIR}/src ${tileflux_tests_dir})
target_compile_options(test_settings INTERFACE -Wno-missing-field-initializers)   # designated initialisers name what matters
target_compile_definitions(test_settings INTERFACE
  TILEFLUX_PROJECT_DIR="${PROJECT_SOURCE_DIR}"
  TILEFLUX_BUILD_DIR="${PROJECT_BINARY_DIR}"
  TILEFLUX_COMMAND="$<TARGET_FILE:tileflux>"
  TILEFLUX_CMAKE="${CMAKE_COMMAND}"
  TILEFLUX_CXX_COMPILER="${CMAKE_CXX_COMPILER}"
  TILEFLUX_VERSION="${PROJECT_VERSION}")
target_link_libraries(test_settings INTERFACE
  tileflux_settings GTest::gtest_main GTest::gmock rapidcheck_gtest
  Eigen3::Eigen fmt::fmt yaml-cpp nlohmann_json::nlohmann_json PkgConfig::netcdf PkgConfig::udunits)

# The library is what is tested; optimising the tests' own code takes longer than running it.
target_compile_options(test_settings INTERFACE -O0 -g0)

if(tileflux_support_sources)
  add_library(test_support STATIC ${tileflux_support_sources})
  target_link_libraries(test_support PUBLIC test_settings)
  set_target_properties(test_support PROPERTIES UNITY_BUILD OFF)  # a test links the parts that it uses
else()
  add_library(test_support INTERFACE)
  target_link_libraries(test_support INTERFACE test_settings)
endif()

set(tileflux_common_headers <gtest/gtest.h> <algorithm> <cmath> <functional> <map> <optional> <string> <vector>)
set(tileflux_tests_of_tiles unit_tile unit_studies identity verification cli)

function(tileflux_precompile_tests name sources)
  list(LENGTH sources count)
  if(NOT TILEFLUX_PRECOMPILE OR count LESS 4)
    return()
  endif()
  target_precompile_headers(${name} PRIVATE ${tileflux_common_headers})
  if(name IN_LIST tileflux_tests_of_tiles)
    tileflux_precompile(${name})
  endif()
endfunction()

function(tileflux_test name folder)
  file(GLOB sources CONFIGURE_DEPENDS ${tileflux_tests_dir}/${folder}/*.cpp)
  if(NOT sources)
    return()
  endif()
  add_executable(${name} ${sources})
  target_link_libraries(${name} PRIVATE test_support ${ARGN})
  set_target_properties(${name} PROPERTIES RUNTIME_OUTPUT_DIRECTORY ${PROJECT_BINARY_DIR}/tests)
  tileflux_precompile_tests(${name} "${sources}")
  gtest_discover_tests(${name} DISCOVERY_MODE PRE_TEST DISCOVERY_TIMEOUT 60 TEST_PREFIX "${name}/"
    TEST_FILTER "-Timing*" PROPERTIES LABELS ${name} TIMEOUT 300 ENVIRONMENT "RC_PARAMS=seed=1")
  gtest_discover_tests(${name} DISCOVERY_MODE PRE_TEST DISCOVERY_TIMEOUT 60 TEST_PREFIX "${name}/"
    TEST_FILTER "Timing*" TEST_LIST ${name}_timing PROPERTIES LABELS "timing" TIMEOUT 300 RUN_SERIAL TRUE)
endfunction()

option(TILEFLUX_ALL_TESTS "Build every test under sanitizers too, and those that take long" OFF)
set(tileflux_tested_modules ${tileflux_modules} environment devices)   # these two may consist of headers alone
list(REMOVE_DUPLICATES tileflux_tested_modules)
if(TILEFLUX_SANITIZE AND NOT TILEFLUX_ALL_TESTS)
  # What calls C libraries and is called back, and what writes files. The fuzz targets take the reader and all up to the
  # tile through the same sanitizers; laws and studies are arithmetic that calls these.
  set(tileflux_tested_modules units solvers results)
endif()
foreach(module IN LISTS tileflux_tested_modules)
  tileflux_objects_of(objects ${module})
  tileflux_test(unit_${module} unit/${module} ${objects})
endforeach()
# Costs mean nothing under sanitizers, judges and published rows watch the same code as the other tests, the command adds
# words to what the library says, and the rest does not depend on how the library was built. All of them together would take
# sanitized builds beyond a coffee break.
set(tileflux_test_kinds "")
if(NOT TILEFLUX_SANITIZE OR TILEFLUX_ALL_TESTS)
  set(tileflux_test_kinds identity cli verification cost referee lint)
  if(TILEFLUX_REPORT)
    list(APPEND tileflux_test_kinds report)
  endif()
  tileflux_test(installation install tileflux::tileflux)
else()
  set(tileflux_untested tileflux tileflux_library)
  foreach(module IN LISTS tileflux_modules)
    if(NOT module IN_LIST tileflux_tested_modules AND NOT module STREQUAL base)
      list(APPEND tileflux_untested tileflux_${module})
    endif()
  endforeach()
  set_target_properties(${tileflux_untested} PROPERTIES EXCLUDE_FROM_ALL ON)
endif()
foreach(kind IN LISTS tileflux_test_kinds)
  tileflux_test(${kind} ${kind} tileflux::tileflux)
endforeach()
if(TARGET cost)
  set_target_properties(cost PROPERTIES DISABLE_PRECOMPILE_HEADERS ON)
  target_compile_options(cost PRIVATE -O2)   # its own loops are what is timed
endif()

foreach(kind verification cli referee report installation)
  if(TARGET ${kind})
    add_dependencies(${kind} tileflux)
  endif()
endforeach()

if(TARGET report)
  tileflux_npm_packages(${tileflux_tests_dir}/report/browser ${PROJECT_BINARY_DIR}/browser-packages)
  add_custom_target(browser_packages DEPENDS ${PROJECT_BINARY_DIR}/browser-packages/installed)
  add_dependencies(report browser_packages)
  if(TILEFLUX_ALL_TESTS)
    target_compile_definitions(report PRIVATE TILEFLUX_ALL_TESTS)
  endif()
endif()

# The benchmark, by hand: cmake --build build --target benchmark_page. Its plain solvers are of SUNDIALS, which the library shows nobody.
file(GLOB tileflux_bench_sources CONFIGURE_DEPENDS ${tileflux_tests_dir}/bench/*.cpp)
add_executable(bench EXCLUDE_FROM_ALL ${tileflux_bench_sources})
target_link_libraries(bench PRIVATE test_settings tileflux::tileflux SUNDIALS::cvode SUNDIALS::kinsol SUNDIALS::sunlinsolklu
  SUNDIALS::sunlinsoldense SUNDIALS::sunmatrixsparse SUNDIALS::sunmatrixdense SUNDIALS::nvecserial)
target_compile_options(bench PRIVATE -O3)   # the plain solvers are timed too
set_target_properties(bench PROPERTIES RUNTIME_OUTPUT_DIRECTORY ${PROJECT_BINARY_DIR}/tests UNITY_BUILD OFF)
add_dependencies(bench tileflux)
add_custom_target(benchmark_page COMMAND bench ${PROJECT_SOURCE_DIR}/docs/benchmark.md VERBATIM USES_TERMINAL)

# Rewrites the generated pages of docs/ in the source tree: cmake --build build --target write_documents
add_executable(documents_writer EXCLUDE_FROM_ALL ${tileflux_tests_dir}/support/write_documents.cpp)
target_link_libraries(documents_writer PRIVATE test_support tileflux::tileflux)
add_custom_target(write_documents COMMAND documents_writer ${PROJECT_SOURCE_DIR}/docs VERBATIM)
