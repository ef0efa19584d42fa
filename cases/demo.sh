#!/usr/bin/env bash
# From a fresh Debian 12 machine to the answers for the Lamplighter tile: installs what is missing, builds, runs.
set -euo pipefail
cd "$(dirname "$0")/.."

echo "1 of 3: packages (about four minutes on a bare machine)"
bash src/setup/install-packages.sh build
echo "2 of 3: the command (about six minutes on two processors)"
mkdir -p build
launcher=()
if command -v ccache > /dev/null; then launcher=(-DCMAKE_CXX_COMPILER_LAUNCHER=ccache); fi
# Several sources at a time, as tests/run.sh does: half the time, and its build goes on from here.
unity=(-DCMAKE_UNITY_BUILD=ON -DCMAKE_UNITY_BUILD_BATCH_SIZE=8)
if ! cmake --preset release -DTILEFLUX_TESTS=OFF "${launcher[@]}" "${unity[@]}" > build/configure.log 2>&1; then
  cat build/configure.log >&2
  exit 1
fi
cmake --build build --parallel "$(nproc)" --target tileflux

echo "3 of 3: answers"
case_file=cases/lamplighter/case.yaml
results=$(mktemp -d build/demo-XXXXXX)

show() {
  printf '\n$ %s\n' "$*"
  local status=0
  "$@" || status=$?
  # 1 is an answer ("no": a limit is broken), not a failure.
  if [ "$status" -gt 1 ]; then exit "$status"; fi
}
show build/tileflux balance "$case_file"
show build/tileflux run "$case_file" --out "$results"
show build/tileflux duty "$case_file"
show build/tileflux size cases/sized_radiator/case.yaml
show build/tileflux report "$results" -o "$results/report.html"
printf '\nDone. The same as a page for the browser: %s/report.html; series and events beside it.\nNext: docs/guide.md, the first hour\n' "$results"
