#pragma once
/// Other processes in tests: programs, and forked copies of the test itself.

#include <functional>
#include <string>
#include <vector>

namespace tileflux::test {

struct ProgramResult {
  int exit_status = -1;  ///< 128 + signal number if a signal ended it
  std::string standard_output;
  std::string standard_error;
};

/// Runs a program found on PATH or by its path, with nothing on its standard input, and waits for it.
/// `directory`: where it runs; empty for the present one.
ProgramResult run_program(const std::vector<std::string>& arguments, const std::string& directory = {});

/// Runs `body` in a forked copy of this process that ends with the returned number, and returns that number (128 +
/// signal number if a signal ended it, as after 60 s). An exception that leaves `body` gives 99. Buffers of files and
/// exit handlers of the copy do not run.
int run_in_child(const std::function<int()>& body);

}  // namespace tileflux::test
