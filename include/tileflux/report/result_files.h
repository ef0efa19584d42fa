#pragma once
/// What verbs wrote with `--out`, read back and checked. Files come from anywhere: whatever they hold, they are told of
/// or refused with a message, under bounds on memory.

#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "tileflux/report/story.h"

namespace tileflux::report {

struct ResultContent;  ///< the JSON, and the tables beside it; private to the module

/// The answer of one verb.
struct Result {
  std::string name;  ///< the file, as it was named
  std::string verb;
  std::shared_ptr<const ResultContent> content;
};

/// A file larger than this is refused.
inline constexpr std::size_t most_result_bytes = std::size_t{64} << 20;

/// Reads results: each path is a JSON file that a verb wrote (with `--out`, or what `--json` printed), or a directory
/// that holds one or several; with it the series or the answers in the same directory. Throws Error: file_unreadable;
/// text_too_large; result_damaged for what is no result, or no complete one; choice_unknown for the result of a verb of
/// which no story is told; table_shape where a series does not fit its result.
std::vector<Result> read_results(const std::vector<std::string>& paths);

/// The same from a text without any file beside it; `name` is to be shown.
Result result_of_text(std::string_view json, const std::string& name);

/// Verbs of whose results stories are told.
const std::vector<std::string>& told_verbs();

/// The story of one result, or of several side by side: sections of each, the first one's title. Throws Error:
/// key_missing, wrong_kind or value_out_of_range for what does not stand in a result as it should, with its way in the
/// file; ledger_open where the powers of a result do not add up.
Story story_of(const std::vector<Result>& results);

}  // namespace tileflux::report
