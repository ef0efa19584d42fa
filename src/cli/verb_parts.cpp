#include "cli/verb_parts.h"

#include <fmt/format.h>
#include <unistd.h>

#include <atomic>
#include <csignal>
#include <cstdio>
#include <filesystem>

#include "cli/verbs.h"
#include "tileflux/results/digest.h"
#include "tileflux/results/files.h"

namespace tileflux::cli {

namespace {

std::atomic<bool> interrupted{false};

/// The run ends after its step with complete files; a second interrupt ends the process at once.
extern "C" void on_interrupt(int signal) {
  interrupted.store(true);
  std::signal(signal, SIG_DFL);
}

}  // namespace

void heed_interrupts() {
  std::signal(SIGINT, on_interrupt);
  std::signal(SIGTERM, on_interrupt);
}

bool stop_wanted() { return interrupted.load(); }

bool Progress::is_terminal() { return isatty(STDERR_FILENO) != 0; }

void Progress::operator()(double share) {
  if (!terminal_) return;
  const double now_s = seconds();
  if (now_s < 1.0 || now_s - told_s_ < 0.2) return;
  told_s_ = now_s;
  fmt::print(stderr, "\r{:5.1f} %", 100.0 * share);
  std::fflush(stderr);
}

Progress::~Progress() {
  if (told_s_ > 0.0) fmt::print(stderr, "\r        \r");
}

int answer_no(Code code, const std::string& message) {
  Diagnostic diagnostic;
  diagnostic.code = code;
  diagnostic.message = message;
  if (!Overheard::listening()) fmt::print(stderr, "{}\n", describe(diagnostic));
  return entry_of(code).exit_status;
}

int answer_interrupted() { return answer_no(Code::interrupted, "the answer ends where it was interrupted"); }

void tell_answer(const Invocation& wanted, const tile::CaseTemplate& cases, const Subject& subject,
                 std::string_view file_name, const std::function<std::string()>& json,
                 const std::function<std::string()>& words, const std::vector<const char*>& beside) {
  const std::optional<Explanation> why = wanted.no_why ? std::nullopt : explanation_of(cases, subject);
  const bool filed = !wanted.out_directory.empty() && !file_name.empty();
  std::string object;
  std::vector<std::filesystem::path> files;
  if (filed) {
    const std::filesystem::path directory = wanted.out_directory;
    for (const char* name : beside) files.push_back(directory / name);
  }
  if (wanted.json || filed) object = results::sealed(with_why(json(), why), files);
  if (filed) results::OutputDirectory(wanted.out_directory).write_text(file_name, object);
  say(wanted.json ? object : words() + print_why(why));
}

}  // namespace tileflux::cli
