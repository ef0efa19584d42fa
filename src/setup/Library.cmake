# The shared library: the objects of all modules. Target tileflux_library, used as tileflux::tileflux.

add_library(tileflux_library SHARED)
add_library(tileflux::tileflux ALIAS tileflux_library)
set_target_properties(tileflux_library PROPERTIES
  OUTPUT_NAME tileflux
  EXPORT_NAME tileflux
  VERSION ${PROJECT_VERSION}
  SOVERSION ${PROJECT_VERSION_MAJOR}.${PROJECT_VERSION_MINOR}
  LINKER_LANGUAGE CXX
  LIBRARY_OUTPUT_DIRECTORY ${PROJECT_BINARY_DIR})
target_include_directories(tileflux_library PUBLIC
  $<BUILD_INTERFACE:${PROJECT_SOURCE_DIR}/include>
  $<INSTALL_INTERFACE:${CMAKE_INSTALL_INCLUDEDIR}>)
target_compile_features(tileflux_library PUBLIC cxx_std_20)
target_link_libraries(tileflux_library PUBLIC Eigen3::Eigen)
foreach(module IN LISTS tileflux_modules)
  target_link_libraries(tileflux_library PRIVATE tileflux_${module})
endforeach()

if(TARGET tileflux_results)
  target_compile_definitions(tileflux_results PRIVATE TILEFLUX_VERSION="${PROJECT_VERSION}")
endif()
