#pragma once
/// What each verb does: read, compute, print, write.

#include <string>

#include "cli/invocation.h"
#include "tileflux/materials/library.h"

namespace tileflux::cli {

/// Those with a file of their own, verb_<name>.cpp. They return the exit status, and throw Error.
int gains_verb(const Invocation& wanted, const materials::Library& library);
/// The radiator for a limit or a light.
int size_verb(const Invocation& wanted, const materials::Library& library);
int margins_verb(const Invocation& wanted, const materials::Library& library);
int compare_verb(const Invocation& wanted, const materials::Library& library);
/// A sweep of answers by name: on all cores and machines, with files that grow row by row.
int sweep_rows_verb(const Invocation& wanted, const materials::Library& library);
/// Asks every case of a folder of cases what its own folder says to expect, and tells what was right.
int verify_verb(const Invocation& wanted);
int show_verb(const Invocation& wanted);
int report_verb(const Invocation& wanted);

/// Runs the verb and returns the exit status: 0, or 1 where the answer is "no". Throws Error.
int run_verb(const Invocation& wanted);

/// Where the materials library and the cases lie: beside the installed command, else in the source tree.
std::string default_materials_directory();
std::string default_cases_directory();

/// Writes to standard output. Throws Error (output_unwritable) if it is closed or full.
void say(const std::string& text);

/// While one lives, what would be said is kept instead, and a "no" is not told.
class Overheard {
 public:
  Overheard();
  ~Overheard();
  Overheard(const Overheard&) = delete;
  Overheard& operator=(const Overheard&) = delete;
  const std::string& text() const { return text_; }
  static bool listening();

 private:
  std::string text_;
};

}  // namespace tileflux::cli
