# cmake -DFROM=... -DTO=... -DNPM=... -P NpmPackages.cmake: the packages of FROM/package-lock.json into TO/node_modules.
# No script of a package is run. What was fetched before comes from npm's own cache.

file(MAKE_DIRECTORY ${TO})
file(COPY ${FROM}/package.json ${FROM}/package-lock.json DESTINATION ${TO})
execute_process(
  COMMAND ${NPM} ci --include=dev --ignore-scripts --no-audit --no-fund --prefer-offline --loglevel=error
  WORKING_DIRECTORY ${TO} RESULT_VARIABLE status OUTPUT_VARIABLE said ERROR_VARIABLE complaint)
if(NOT status EQUAL 0)
  message(FATAL_ERROR
    "npm could not fetch the packages of ${FROM}/package-lock.json:\n${complaint}"
    "Without a network, or without npm, configure with -DTILEFLUX_REPORT=OFF: everything but `tileflux report` is built.")
endif()
file(TOUCH ${TO}/installed)
