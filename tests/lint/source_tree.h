#pragma once
/// The rules of the source tree, each a function from a project folder to the list of what breaks it (empty: nothing).
/// A finding begins with the path of the file relative to the project.

#include <filesystem>
#include <string>
#include <vector>

namespace tileflux::lint {

using Findings = std::vector<std::string>;
namespace fs = std::filesystem;

/// Includes of include/ and src/ that go to a module which the including module may not use, or to nothing.
Findings broken_ranks(const fs::path& project);

/// Includes of public headers other than our public headers, Eigen and the standard library.
Findings foreign_public_includes(const fs::path& project);

/// Includes in src/ of an outside library by a module other than its keeper.
Findings straying_libraries(const fs::path& project);

/// Headers and sources of include/ and src/ with too many lines.
Findings oversized_files(const fs::path& project);
inline constexpr int most_header_lines = 300;
inline constexpr int most_source_lines = 500;

/// Marks of unfinished work in include/, src/, tests/, docs/ and cases/.
Findings unfinished_marks(const fs::path& project);

/// Slugs that docs/errors.md does not explain (`slug` in backquotes).
Findings undocumented_codes(const fs::path& project, const std::vector<std::string>& slugs);

/// Slugs that no file below tests/ (other than tests/lint) names, as slug or as enumerator.
Findings untested_codes(const fs::path& project, const std::vector<std::string>& slugs);

/// Names at the top level that do not belong there. Build directories (build, build-*) are not looked at.
Findings strangers_at_the_top(const fs::path& project);

}  // namespace tileflux::lint
