#!/usr/bin/env bash
# Installs the Debian 12 packages that tileflux needs. Does nothing when all are there.
#   install-packages.sh build    to build the library and the command
#   install-packages.sh all      and to test them (default)
set -euo pipefail

build_packages=(
  g++ cmake ninja-build pkg-config
  libeigen3-dev libsundials-dev libsuitesparse-dev libyaml-cpp-dev libudunits2-dev libnetcdf-dev
  nlohmann-json3-dev libcli11-dev libfmt-dev libboost-dev
  libssl-dev libkainjow-mustache-dev
)
test_packages=(
  clang libclang-rt-14-dev libgtest-dev libgmock-dev librapidcheck-dev gcovr git
  libopenmpi-dev openmpi-bin
  python3-scipy python3-xarray python3-netcdf4 python3-jsonschema python3-yaml ngspice
  chromium
)
# Report pages are bundled with node and npm. Node may have come from elsewhere, and then brings its npm along: Debian's would not stand beside it.
if ! command -v node > /dev/null || ! command -v npm > /dev/null; then
  build_packages+=(nodejs npm)
fi

case "${1:-all}" in
  build) wanted=("${build_packages[@]}") ;;
  all) wanted=("${build_packages[@]}" "${test_packages[@]}") ;;
  *) echo "usage: $0 [build|all]" >&2; exit 2 ;;
esac

if ! command -v dpkg-query > /dev/null; then
  echo "This is not a Debian system. Please install what stands for these packages of Debian 12:" >&2
  echo "  ${wanted[*]}" >&2
  exit 2
fi

missing=()
for package in "${wanted[@]}"; do
  state=$(dpkg-query --show --showformat='${db:Status-Status}' "$package" 2> /dev/null || true)
  case "$state" in
    installed*) ;;
    *) missing+=("$package") ;;
  esac
done
if [ ${#missing[@]} -eq 0 ]; then
  exit 0
fi

if [ "$(id -u)" -eq 0 ]; then
  as_root=(env)
elif command -v sudo > /dev/null; then
  as_root=(sudo env)
else
  echo "Packages are missing, and neither root nor sudo is at hand. Please have these installed:" >&2
  echo "  apt-get install ${missing[*]}" >&2
  exit 2
fi

echo "Installing ${#missing[@]} packages and what they need, without a word until it is done: ${missing[*]}" >&2
log=$(mktemp)
trap 'rm -f "$log"' EXIT
# What the package manager says of hundreds of packages is read only when it fails.
in_silence() {
  if ! "${as_root[@]}" DEBIAN_FRONTEND=noninteractive apt-get --quiet=2 "$@" > "$log" 2>&1; then
    cat "$log" >&2
    exit 1
  fi
}
in_silence update
in_silence install --yes --no-install-recommends "${missing[@]}"
