#pragma once
/// The one list of error codes, and the diagnostics and exception that carry them.
///
/// A code has a slug that a person sees (`key-unknown`), an exit status of the command, a meaning and a remedy.
/// docs/errors.md is written from this list; a test asserts that every code is documented and raised by some test.

#include <span>
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

namespace tileflux {

/// Every way in which an input, a computation or a file can be refused. Keep in the order of `all_codes()`.
enum class Code {
  // The text of a file
  file_unreadable,
  text_too_large,
  text_encoding,
  yaml_syntax,
  yaml_second_document,
  yaml_anchor,
  yaml_tag,
  yaml_too_deep,
  yaml_too_many_nodes,
  key_unknown,
  key_duplicate,
  key_missing,
  key_conflict,
  key_not_text,
  wrong_kind,
  empty_value,
  count_out_of_bounds,
  // Values
  number_malformed,
  number_not_finite,
  unit_missing,
  unit_unknown,
  unit_malformed,
  unit_ambiguous,
  unit_unexpected,
  dimension_wrong,
  value_out_of_range,
  choice_unknown,
  name_malformed,
  text_too_long,
  format_version,
  // Tables in files
  file_elsewhere,
  csv_syntax,
  column_unknown,
  column_missing,
  // What the values say together
  name_unknown,
  name_taken,
  life_unknown,
  table_not_rising,
  table_shape,
  shares_not_whole,
  view_factors_open,
  view_factors_not_reciprocal,
  node_isolated,
  electricity_exceeds_sunlight,
  limits_contradict,
  pattern_contradicts,
  windows_overlap,
  windows_backwards,
  request_beyond_run,
  part_not_described,
  // The answer
  limit_broken,
  verification_failed,
  nothing_feasible,
  radiator_impossible,
  margin_too_small,
  margin_twice,
  margin_differs,
  // The computation
  steady_not_found,
  thermal_runaway,
  transient_failed,
  periodic_not_found,
  ledger_open,
  law_not_finite,
  outside_validity,
  control_chatter,
  heater_authority,
  battery_rests,
  mean_surroundings,
  slow_mode,
  roll_over_passed,
  interrupted,
  // Files and the command line
  result_damaged,
  output_unwritable,
  report_unavailable,
  verb_unknown,
  option_wrong,
  internal,
};

/// What the documentation, the terminal and the process say of one code.
struct CodeEntry {
  Code code;
  std::string_view slug;     ///< what a person sees: lower-case words joined by hyphens
  int exit_status;           ///< 0 warning only, 1 the answer is "no", 2 input wrong, 3 solver failed, 4 internal
  std::string_view meaning;  ///< one sentence
  std::string_view remedy;   ///< what to do about it, one sentence
};

/// All codes, in the order of the enum.
std::span<const CodeEntry> all_codes();

/// The entry of one code.
const CodeEntry& entry_of(Code code);

/// A place in a text: 1-based line and column (columns count bytes); 0 means "not known".
/// `path` is the way of keys from the top of the file: `stack[1].thickness`.
struct Place {
  std::string file;
  int line = 0;
  int column = 0;
  std::string path;
};

enum class Severity { warning, error };

/// One finding about an input or a result. `message` says what was found and what was expected, without the place.
struct Diagnostic {
  Code code = Code::internal;
  Severity severity = Severity::error;
  Place place;
  std::string message;
  std::string excerpt;     ///< the source line, empty if there is none
  std::string suggestion;  ///< nearest spelling or other help, empty if none
};

/// The finding as a person reads it: `file:line:column: error key-unknown: message`, the source line, a caret below the
/// column (aligned for multi-byte text), and the suggestion.
std::string describe(const Diagnostic& diagnostic);

/// The only exception the library throws on purpose. Carries at least one diagnostic; `code()` is that of the first
/// error.
class Error : public std::runtime_error {
 public:
  explicit Error(Diagnostic diagnostic);
  explicit Error(std::vector<Diagnostic> diagnostics);
  Error(Code code, std::string message);

  Code code() const { return code_; }
  int exit_status() const { return entry_of(code_).exit_status; }
  const std::vector<Diagnostic>& diagnostics() const { return diagnostics_; }

 private:
  std::vector<Diagnostic> diagnostics_;
  Code code_;
};

}  // namespace tileflux
