#include <chrono>
#include <csignal>
#include <cstdio>
#include <cstring>
#include <exception>
#include <string>
#include <thread>

#include "cli/invocation.h"
#include "cli/json.h"
#include "cli/ranks.h"
#include "cli/terminal_text.h"
#include "cli/verbs.h"
#include "tileflux/base/errors.h"

namespace {

/// Whether errors are to be told as JSON, even if the command line itself is wrong.
bool asks_for_json(int argc, char** argv) {
  for (int i = 1; i < argc; ++i) {
    if (std::strcmp(argv[i], "--json") == 0) return true;
  }
  return false;
}

/// Tells an error and ends the other processes, where there are any. The first speaks for all; another one waits for
/// it, since the same error may have met them both.
int report(const tileflux::Error& error, bool json) {
  if (tileflux::cli::own_rank() > 0) std::this_thread::sleep_for(std::chrono::seconds(1));
  if (json) std::fputs(tileflux::cli::json_error(error).c_str(), stdout);
  std::fprintf(stderr, "%s\n", tileflux::cli::printable(error.what()).c_str());
  return tileflux::cli::leave_ranks(error.exit_status(), true);
}

}  // namespace

int main(int argc, char** argv) {
  // A full disk or a closed pipe is an error to be told, not a reason to die.
  std::signal(SIGXFSZ, SIG_IGN);
  std::signal(SIGPIPE, SIG_IGN);
  const bool json = asks_for_json(argc, argv);
  try {
    const tileflux::cli::Invocation wanted =
        tileflux::cli::read_command_line(argc, argv, tileflux::cli::default_materials_directory());
    if (wanted.answer) {
      tileflux::cli::say(*wanted.answer);
      return 0;
    }
    if (wanted.verb == "sweep") tileflux::cli::join_ranks();
    return tileflux::cli::leave_ranks(tileflux::cli::run_verb(wanted), false);
  } catch (const tileflux::Error& error) {
    return report(error, json);
  } catch (const std::exception& error) {
    return report(tileflux::Error(tileflux::Code::internal, error.what()), json);
  }
}
