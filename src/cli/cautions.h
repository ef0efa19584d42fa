#pragma once
/// What every help page and report must say about danger and about what this tool is not.

#include <string_view>

namespace tileflux::cli {

/// The cautions in full, for --help.
std::string_view cautions();

/// One line that ends every result.
std::string_view short_caution();

}  // namespace tileflux::cli
