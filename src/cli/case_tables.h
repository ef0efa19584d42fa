#pragma once
/// Tables beside a case file.

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

namespace tileflux::cli {

/// Every word of a case that may name a table beside it, each once.
std::vector<std::string> tables_named_in(std::string_view case_text);

/// The bytes of a file; none if it cannot be read.
std::string content_of(const std::filesystem::path& path);

}  // namespace tileflux::cli
