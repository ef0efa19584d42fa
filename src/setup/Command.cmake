# The command. It looks for materials/ and cases/ in the source tree when run from the build tree, and beside itself when installed.

file(GLOB tileflux_command_sources CONFIGURE_DEPENDS ${PROJECT_SOURCE_DIR}/src/cli/*.cpp)
file(RELATIVE_PATH tileflux_data_from_command
  ${CMAKE_INSTALL_FULL_BINDIR} ${CMAKE_INSTALL_FULL_DATADIR}/tileflux)
file(RELATIVE_PATH tileflux_library_from_command ${CMAKE_INSTALL_FULL_BINDIR} ${CMAKE_INSTALL_FULL_LIBDIR})

# Sweeps over many machines. Only one source knows MPI; another stands in its place where there is none.
# Builds with tests have it where they can, so that it is tested.
set(MPI_CXX_SKIP_MPICXX ON)  # the C interface is all that is used
set(tileflux_mpi_default OFF)
if(TILEFLUX_TESTS AND NOT TILEFLUX_SANITIZE AND NOT DEFINED TILEFLUX_MPI)
  find_package(MPI QUIET COMPONENTS CXX)
  if(MPI_CXX_FOUND)
    set(tileflux_mpi_default ON)
  endif()
endif()
option(TILEFLUX_MPI "Share sweeps out over the processes of mpirun" ${tileflux_mpi_default})
add_library(tileflux_ranks OBJECT ${PROJECT_SOURCE_DIR}/src/cli/ranks/$<IF:$<BOOL:${TILEFLUX_MPI}>,mpi,alone>.cpp)
target_include_directories(tileflux_ranks PRIVATE ${PROJECT_SOURCE_DIR}/include ${PROJECT_SOURCE_DIR}/src)
target_link_libraries(tileflux_ranks PRIVATE tileflux_settings)
if(TILEFLUX_MPI)
  find_package(MPI REQUIRED COMPONENTS CXX)
  target_link_libraries(tileflux_ranks PRIVATE MPI::MPI_CXX)
endif()

add_executable(tileflux ${tileflux_command_sources})
target_include_directories(tileflux PRIVATE ${PROJECT_SOURCE_DIR}/src)
target_compile_definitions(tileflux PRIVATE
  TILEFLUX_VERSION="${PROJECT_VERSION}"
  TILEFLUX_SOURCE_DATA="${PROJECT_SOURCE_DIR}"
  TILEFLUX_INSTALLED_DATA="${tileflux_data_from_command}")
target_link_libraries(tileflux PRIVATE
  tileflux_ranks
  tileflux::tileflux tileflux_settings CLI11::CLI11 fmt::fmt nlohmann_json::nlohmann_json)
tileflux_precompile(tileflux)
set_target_properties(tileflux PROPERTIES
  RUNTIME_OUTPUT_DIRECTORY ${PROJECT_BINARY_DIR}
  BUILD_WITH_INSTALL_RPATH TRUE  # otherwise padded with empty entries, which stand for the working directory
  INSTALL_RPATH "$ORIGIN;$ORIGIN/${tileflux_library_from_command}")
