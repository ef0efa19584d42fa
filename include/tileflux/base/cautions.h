#pragma once
/// What every help page and report says about danger and about what this tool is not.

#include <span>
#include <string_view>

namespace tileflux {

/// The cautions in full, a paragraph each.
std::span<const std::string_view> cautions();

/// One line that ends every answer.
std::string_view short_caution();

}  // namespace tileflux
