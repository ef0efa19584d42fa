#pragma once
/// The bytes of a file, under a bound.

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

#include "tileflux/base/errors.h"

namespace tileflux::input {

inline constexpr std::string_view byte_order_mark = "\xEF\xBB\xBF";

/// Why a text of so many bytes is refused.
std::string too_large_text(std::size_t bytes, std::size_t most_bytes);

/// The bytes of a file, or why there are none: file_unreadable, text_too_large.
struct FileText {
  std::optional<std::string> text;
  Code code = Code::internal;
  std::string message;
};
FileText read_file_text(const std::string& file, std::size_t most_bytes);

}  // namespace tileflux::input
