# Language, warnings and build types, for every target of the project.

set(CMAKE_CXX_STANDARD 20)
set(CMAKE_CXX_STANDARD_REQUIRED ON)
set(CMAKE_CXX_EXTENSIONS OFF)
set(CMAKE_POSITION_INDEPENDENT_CODE ON)
set(CMAKE_EXPORT_COMPILE_COMMANDS ON)

if(NOT CMAKE_BUILD_TYPE AND NOT CMAKE_CONFIGURATION_TYPES)
  set(CMAKE_BUILD_TYPE Release CACHE STRING "Release, Debug, RelWithDebInfo" FORCE)
endif()

# Never -march=native or -ffast-math: results must not depend on the machine that built them.
set(CMAKE_CXX_FLAGS_RELEASE "-O2 -DNDEBUG")

# Libraries are found relative to the file that needs them, so a build tree or an installation can be moved.
set(CMAKE_BUILD_RPATH_USE_ORIGIN ON)

set(TILEFLUX_SANITIZE "" CACHE STRING "Sanitizers, for example address,undefined")
option(TILEFLUX_COVERAGE "Instrument for gcov" OFF)

add_library(tileflux_settings INTERFACE)
target_compile_options(tileflux_settings INTERFACE -Wall -Wextra -Wconversion)
if(CMAKE_UNITY_BUILD)  # the names of one source are seen in the next, and its file is included by another
  target_compile_options(tileflux_settings INTERFACE $<$<CXX_COMPILER_ID:GNU>:-Wno-subobject-linkage>)
else()
  target_compile_options(tileflux_settings INTERFACE -Wshadow)
endif()

if(TILEFLUX_SANITIZE)
  add_compile_options(-fsanitize=${TILEFLUX_SANITIZE} -fno-sanitize-recover=all -fno-omit-frame-pointer)
  add_link_options(-fsanitize=${TILEFLUX_SANITIZE})
endif()
if(TILEFLUX_COVERAGE)
  add_compile_options(--coverage -fprofile-update=atomic)
  add_link_options(--coverage)
endif()
if(TILEFLUX_FUZZ)
  if(NOT CMAKE_CXX_COMPILER_ID MATCHES Clang)
    message(FATAL_ERROR "TILEFLUX_FUZZ needs clang: configure a separate build directory with -DCMAKE_CXX_COMPILER=clang++")
  endif()
  add_compile_options(-fsanitize=fuzzer-no-link,address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer)
  add_link_options(-fsanitize=address,undefined)
endif()
