#!/usr/bin/env bash
# All tests: release build, sanitizer build, fuzz targets. Installs what is missing.
#   tests/run.sh [--quick | --fuzz]     --quick: the release build only; --fuzz: the fuzz targets however long it takes
# Without either, fuzz targets are left out where the rest has taken so long that all together would pass 25 minutes.
# The last line is "N passed, N failed"; the exit status is 0 only if something passed and nothing failed.
set -uo pipefail
cd "$(dirname "$0")/.."

quick=no
fuzz=if_time
for argument in "$@"; do
  case "$argument" in
    --quick) quick=yes ;;
    --fuzz) fuzz=yes ;;
    *) echo "usage: $0 [--quick | --fuzz]" >&2; exit 2 ;;
  esac
done

build_jobs=$(nproc)
test_jobs=2
fuzz_seconds=20
latest_fuzz_start=1000   # seconds
passed=0
failed=0
launcher=()
if command -v ccache > /dev/null; then launcher=(-DCMAKE_CXX_COMPILER_LAUNCHER=ccache); fi

headline() { printf '\n== %s (after %d s)\n' "$1" "$SECONDS"; }

finish() {
  headline "done"
  echo "$passed passed, $failed failed"
  if [ "$failed" -eq 0 ] && [ "$passed" -gt 0 ]; then exit 0; fi
  exit 1
}

# A step that is not a test of its own counts as one failure.
broken() {
  echo "FAILED: $1"
  failed=$((failed + 1))
}

# Several sources at a time, which halves the time of a build from nothing.
unity=(-DCMAKE_UNITY_BUILD=ON -DCMAKE_UNITY_BUILD_BATCH_SIZE=8)

build() {  # preset options...
  local preset=$1
  shift
  cmake --preset "$preset" "${launcher[@]}" "${unity[@]}" "$@" && cmake --build --preset "$preset" --parallel "$build_jobs"
}

# The number in the first attribute of that name in ctest's report.
number_in() {  # report attribute
  local number
  number=$(grep -oE -m1 "^[[:space:]]*$2=\"[0-9]+\"" "$1" | tr -dc 0-9)
  echo "${number:-0}"
}

# Runs the tests of a preset and adds them to the sum. A skipped test did not pass; since everything that tests need is
# installed, it did fail.
run_tests() {  # preset directory
  local report=$PWD/$2/test-report.xml status all bad=0
  rm -f "$report"
  ctest --preset "$1" --parallel "$test_jobs" --no-tests=error --output-junit "$report" | grep -vE ' Passed |^ +Start '
  status=${PIPESTATUS[0]}
  if [ -f "$report" ]; then
    all=$(number_in "$report" tests)
    bad=$(($(number_in "$report" failures) + $(number_in "$report" skipped) + $(number_in "$report" disabled)))
    passed=$((passed + all - bad))
    failed=$((failed + bad))
  fi
  if [ "$status" -ne 0 ] && [ "$bad" -eq 0 ]; then broken "ctest --preset $1"; fi
}

# Runs a fuzz target from its seeds; an input that breaks it is kept in build-fuzz/findings.
run_fuzz() {  # name
  local folders=("build-fuzz/corpus/$1") options=()
  mkdir -p "${folders[0]}" build-fuzz/findings
  if [ -d "tests/fuzz/corpus/${1#fuzz_}" ]; then folders+=("tests/fuzz/corpus/${1#fuzz_}"); fi
  if [ -f "tests/fuzz/$1.dict" ]; then options+=("-dict=tests/fuzz/$1.dict"); fi
  "build-fuzz/fuzz/$1" -max_total_time="$fuzz_seconds" -timeout=10 -rss_limit_mb=2048 "${options[@]}" \
    -artifact_prefix="build-fuzz/findings/$1-" "${folders[@]}" > "build-fuzz/$1.log" 2>&1
}

run_all_fuzz() {
  local names=() targets=(build-fuzz/fuzz/fuzz_*) pids=() i
  if [ ! -x "${targets[0]}" ]; then
    broken "no fuzz target was built"
    return
  fi
  for i in "${!targets[@]}"; do
    names[i]=$(basename "${targets[i]}")
    run_fuzz "${names[i]}" &
    pids[i]=$!
  done
  for i in "${!pids[@]}"; do
    if wait "${pids[i]}"; then
      passed=$((passed + 1))
      tail -n 1 "build-fuzz/${names[i]}.log"
    else
      tail -n 60 "build-fuzz/${names[i]}.log"
      broken "${names[i]}: input kept in build-fuzz/findings"
    fi
  done
}

headline "packages"
if ! bash src/setup/install-packages.sh all; then
  broken "packages"
  finish
fi

headline "release build"
if ! build release -DTILEFLUX_TESTS=ON; then
  broken "release build"
  finish
fi
headline "release tests"
run_tests release build
if [ "$quick" = yes ]; then finish; fi

headline "sanitizer build"
if build asan-ubsan; then
  headline "sanitizer tests"
  run_tests asan-ubsan build-asan
else
  broken "sanitizer build"
fi

if [ "$fuzz" = if_time ] && [ "$SECONDS" -gt "$latest_fuzz_start" ]; then
  headline "fuzz targets are left out on this machine: tests/run.sh --fuzz"
  finish
fi
headline "fuzz build"
if build fuzz; then
  headline "fuzz targets, side by side, $fuzz_seconds s"
  run_all_fuzz
else
  broken "fuzz build"
fi
finish
