#include "tileflux/results/csv.h"

#include <fmt/format.h>

#include <cmath>

namespace tileflux::results {

std::string csv_number(double value) { return std::isnan(value) ? std::string() : fmt::format("{}", value); }

std::string csv_text(std::string_view text) {
  if (text.find_first_of(",\"\r\n") == std::string_view::npos) return std::string(text);
  std::string quoted = "\"";
  for (const char letter : text) {
    if (letter == '"') quoted += '"';
    quoted += letter;
  }
  return quoted + '"';
}

}  // namespace tileflux::results
