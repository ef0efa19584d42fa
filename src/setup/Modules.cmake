# tileflux_module(<name> [NEEDS module...] [LIBRARIES target...])
#
# One object library tileflux_<name> from src/<name>/*.cpp. NEEDS are the modules that it may use; tests of a module
# link the objects of that module and of what it needs, so a module is built and tested without those above it, and a
# call against the ranks does not link. A folder without sources makes no target.

set(tileflux_modules "")

# Half of the time that a source of the upper modules takes goes into reading the same headers: they are read once for
# each target. Off in the preset `dev`, where every source shows that it includes what it uses. ccache needs
# CCACHE_SLOPPINESS=pch_defines,time_macros to keep such objects.
option(TILEFLUX_PRECOMPILE "Precompile the headers that many sources share" ON)

function(tileflux_precompile target)
  if(TILEFLUX_PRECOMPILE)
    target_precompile_headers(${target} PRIVATE
      <algorithm> <cmath> <functional> <map> <optional> <string> <vector> "$<BUILD_INTERFACE:${PROJECT_SOURCE_DIR}/include/tileflux/tile/tile_system.h>")
  endif()
endfunction()

function(tileflux_module name)
  cmake_parse_arguments(PARSE_ARGV 1 module "" "" "NEEDS;LIBRARIES")

  set(closure ${name})
  foreach(needed IN LISTS module_NEEDS)
    list(APPEND closure ${tileflux_closure_${needed}})
  endforeach()
  list(APPEND closure base)
  list(REMOVE_DUPLICATES closure)
  set(tileflux_closure_${name} ${closure} PARENT_SCOPE)

  file(GLOB sources CONFIGURE_DEPENDS ${PROJECT_SOURCE_DIR}/src/${name}/*.cpp)
  if(NOT sources)
    return()
  endif()
  add_library(tileflux_${name} OBJECT ${sources})
  target_include_directories(tileflux_${name} PRIVATE ${PROJECT_SOURCE_DIR}/include ${PROJECT_SOURCE_DIR}/src)
  target_link_libraries(tileflux_${name} PRIVATE tileflux_settings Eigen3::Eigen fmt::fmt ${module_LIBRARIES})
  if(name STREQUAL "tile" OR name STREQUAL "studies")
    tileflux_precompile(tileflux_${name})
  endif()
  set(tileflux_modules ${tileflux_modules} ${name} PARENT_SCOPE)
endfunction()

# tileflux_objects_of(<variable> <module>): the object libraries of a module and of all that it needs, as far as they exist.
function(tileflux_objects_of variable name)
  set(objects "")
  foreach(module IN LISTS tileflux_closure_${name})
    if(TARGET tileflux_${module})
      list(APPEND objects tileflux_${module})
    endif()
  endforeach()
  set(${variable} ${objects} PARENT_SCOPE)
endfunction()
