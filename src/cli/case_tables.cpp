#include "cli/case_tables.h"

#include <algorithm>
#include <fstream>
#include <sstream>

namespace tileflux::cli {

std::vector<std::string> tables_named_in(std::string_view case_text) {
  constexpr std::string_view ends_of_names = " \t\r\n\"'{}[],:";
  std::vector<std::string> names;
  for (std::size_t begin = 0; begin < case_text.size();) {
    const std::size_t end = std::min(case_text.find_first_of(ends_of_names, begin), case_text.size());
    const std::string_view word = case_text.substr(begin, end - begin);
    if (word.ends_with(".csv") && std::find(names.begin(), names.end(), word) == names.end()) names.emplace_back(word);
    begin = end + 1;
  }
  return names;
}

std::string content_of(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

}  // namespace tileflux::cli
