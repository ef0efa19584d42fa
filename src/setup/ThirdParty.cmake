# Everything that comes from outside. Only the module that names a library sees it; only Eigen reaches those who use
# the installed library.

find_package(PkgConfig REQUIRED)
pkg_check_modules(udunits REQUIRED IMPORTED_TARGET udunits)
pkg_check_modules(netcdf REQUIRED IMPORTED_TARGET netcdf)
find_package(Eigen3 3.4 REQUIRED CONFIG)
find_package(yaml-cpp REQUIRED CONFIG)
find_package(nlohmann_json REQUIRED CONFIG)
find_package(SUNDIALS 6.4 REQUIRED CONFIG)
find_package(CLI11 REQUIRED CONFIG)
find_package(fmt REQUIRED CONFIG)
find_package(Boost 1.74 REQUIRED)
find_package(OpenSSL 3 REQUIRED COMPONENTS Crypto)

# KLU comes with SUNDIALS' own description of where it was found.
set(tileflux_sundials SUNDIALS::kinsol SUNDIALS::sunmatrixsparse SUNDIALS::nvecserial SUNDIALS::KLU)
