# The page of `tileflux report`: its script is bundled from src/report/page and the npm packages of its lock file at build
# time, in the build tree, and embedded. Packages are fetched once, and again only when the lock file changes.

find_program(TILEFLUX_NODE node)
find_program(TILEFLUX_NPM npm)
set(tileflux_report_default ON)
if(NOT TILEFLUX_NODE OR NOT TILEFLUX_NPM OR TILEFLUX_SANITIZE OR TILEFLUX_FUZZ OR TILEFLUX_COVERAGE)
  set(tileflux_report_default OFF)
endif()
option(TILEFLUX_REPORT "Make the pages of `tileflux report` (needs node 18 or later and npm)" ${tileflux_report_default})

find_path(TILEFLUX_MUSTACHE kainjow/mustache.hpp REQUIRED)
target_include_directories(tileflux_report SYSTEM PRIVATE ${TILEFLUX_MUSTACHE})

set(tileflux_page_sources ${PROJECT_SOURCE_DIR}/src/report/page)
set(tileflux_page_dir ${PROJECT_BINARY_DIR}/report-page)

# tileflux_npm_packages(<folder with package.json and package-lock.json> <folder in the build tree>)
function(tileflux_npm_packages from to)
  add_custom_command(
    OUTPUT ${to}/installed
    COMMAND ${CMAKE_COMMAND} -DFROM=${from} -DTO=${to} -DNPM=${TILEFLUX_NPM} -P ${PROJECT_SOURCE_DIR}/src/setup/NpmPackages.cmake
    DEPENDS ${from}/package.json ${from}/package-lock.json
    COMMENT "Fetching npm packages for ${to}" VERBATIM)
endfunction()

if(TILEFLUX_REPORT)
  if(NOT TILEFLUX_NODE OR NOT TILEFLUX_NPM)
    message(FATAL_ERROR "Report pages need node and npm (Debian packages nodejs and npm). Without them: -DTILEFLUX_REPORT=OFF")
  endif()
  execute_process(COMMAND ${TILEFLUX_NODE} --version OUTPUT_VARIABLE version OUTPUT_STRIP_TRAILING_WHITESPACE)
  string(REGEX REPLACE "^v" "" version "${version}")
  if(version VERSION_LESS 18)
    message(FATAL_ERROR "Report pages need node 18 or later, ${TILEFLUX_NODE} is ${version}. Without them: -DTILEFLUX_REPORT=OFF")
  endif()

  tileflux_npm_packages(${tileflux_page_sources} ${tileflux_page_dir}/packages)
  file(GLOB scripts CONFIGURE_DEPENDS ${tileflux_page_sources}/*.js ${tileflux_page_sources}/*.mjs ${tileflux_page_sources}/*.css)
  set(embedded page.mustache page.js page.css page-js.sha256 page-css.sha256 pictures.js)
  list(TRANSFORM embedded PREPEND ${tileflux_page_dir}/)
  add_custom_command(
    OUTPUT ${embedded}
    COMMAND ${TILEFLUX_NODE} ${tileflux_page_sources}/build.mjs ${tileflux_page_dir}/packages ${tileflux_page_dir}
    COMMAND ${CMAKE_COMMAND} -E copy ${tileflux_page_sources}/page.mustache ${tileflux_page_dir}/page.mustache
    DEPENDS ${scripts} ${tileflux_page_sources}/page.mustache ${tileflux_page_dir}/packages/installed
    COMMENT "Bundling the page of reports" VERBATIM)
  set(tileflux_page_assets ${PROJECT_SOURCE_DIR}/src/report/embedded/built.cpp)
  set_source_files_properties(${tileflux_page_assets} PROPERTIES
    OBJECT_DEPENDS "${embedded}" COMPILE_DEFINITIONS TILEFLUX_PAGE_DIR="${tileflux_page_dir}" SKIP_UNITY_BUILD_INCLUSION ON
    SKIP_PRECOMPILE_HEADERS ON)
else()
  set(tileflux_page_assets ${PROJECT_SOURCE_DIR}/src/report/embedded/missing.cpp)
endif()
target_sources(tileflux_report PRIVATE ${tileflux_page_assets})
