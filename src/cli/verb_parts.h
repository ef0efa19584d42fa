#pragma once
/// What several verbs do in the same way: progress, interrupts, the answer "no", the paragraph why.

#include <chrono>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "cli/invocation.h"
#include "cli/why_text.h"
#include "tileflux/base/errors.h"

namespace tileflux::cli {

/// From here on an interrupt is a wish. Before a run there is nothing to save, and waiting for a pipe must end at once.
void heed_interrupts();
/// Whether one has come.
bool stop_wanted();

/// Progress on standard error for what takes longer than a second, and only on a terminal.
class Progress {
 public:
  void operator()(double share);
  ~Progress();

 private:
  static bool is_terminal();
  double seconds() const { return std::chrono::duration<double>(std::chrono::steady_clock::now() - begin_).count(); }
  std::chrono::steady_clock::time_point begin_ = std::chrono::steady_clock::now();
  bool terminal_ = is_terminal();
  double told_s_ = 0.0;
};

/// What the paragraph why is about, after answers over time and after those about many cases.
inline constexpr const char* steady_words = "This is about the steady states, as `balance` finds them with throttles acting.";
inline constexpr const char* stated_words = "This is about the case as it stands.";

/// The answer is "no": said on standard error with its code, beside the result on standard output.
int answer_no(Code code, const std::string& message);
/// The answer ends where an interrupt came: said on standard error. The exit status of that.
int answer_interrupted();

/// An answer with its paragraph why, as far as that is wanted, about a tile: to standard output in words or
/// as JSON, and as JSON into a file of that name in the output directory, if there is to be one. JSON is sealed; it names
/// the files `beside` it in that directory with their digests.
void tell_answer(const Invocation& wanted, const tile::CaseTemplate& cases, const Subject& subject,
                 std::string_view file_name, const std::function<std::string()>& json,
                 const std::function<std::string()>& words, const std::vector<const char*>& beside = {});

}  // namespace tileflux::cli
