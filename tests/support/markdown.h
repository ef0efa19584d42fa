#pragma once
/// Fenced blocks of a Markdown page, for the tests that run what the documentation says.

#include <string>
#include <vector>

namespace tileflux::test {

struct Fence {
  int line = 0;          ///< of its first line of content, from 1
  std::string language;  ///< word behind the opening fence
  std::string lead;      ///< the nearest line above it that is not blank
  std::vector<std::string> lines;
};

/// All blocks fenced by three backquotes, in their order. A block that is never closed reaches to the end.
std::vector<Fence> fences_of(const std::string& page);

struct Command {
  int line = 0;
  std::string text;
  int exit_status = 0;  ///< that the page promises: `# exit status 1` at the end of the line, otherwise 0
};

/// The commands of a `sh` block: one per line; a backslash at the end joins it with the next; blank lines and remarks
/// are left out.
std::vector<Command> commands_of(const Fence& fence);

/// The name that the line above a block gives it, as in "Save this as `aged.yaml`:"; empty if it gives none.
std::string saved_as(const Fence& fence);

}  // namespace tileflux::test
