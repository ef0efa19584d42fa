#include "tileflux/base/spelling.h"

#include <algorithm>
#include <utility>
#include <vector>

namespace tileflux {

int edit_distance(std::string_view a, std::string_view b) {
  constexpr std::size_t longest = 64;
  a = a.substr(0, longest);
  b = b.substr(0, longest);
  const std::size_t width = b.size() + 1;
  std::vector<int> before_last(width), last(width), row(width);
  for (std::size_t j = 0; j < width; ++j) last[j] = static_cast<int>(j);
  for (std::size_t i = 1; i <= a.size(); ++i) {
    row[0] = static_cast<int>(i);
    for (std::size_t j = 1; j < width; ++j) {
      const int substitution = last[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
      row[j] = std::min({last[j] + 1, row[j - 1] + 1, substitution});
      const bool exchanged = i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1];
      if (exchanged) row[j] = std::min(row[j], before_last[j - 2] + 1);
    }
    before_last.swap(last);
    last.swap(row);
  }
  return last[b.size()];
}

namespace {

/// Words of the trade that stand for one of ours and are not spelled like it.
constexpr std::pair<std::string_view, std::string_view> same_meaning[] = {
    {"emissivity", "emittance"}, {"absorptivity", "absorptance"}, {"specific_heat", "heat_capacity"}};

}  // namespace

std::string nearest_spelling(std::string_view word, std::span<const std::string> known) {
  for (const auto& [theirs, ours] : same_meaning) {
    if (word == theirs && std::find(known.begin(), known.end(), ours) != known.end()) return std::string(ours);
  }
  std::string best;
  int best_distance = static_cast<int>(word.size()) / 3 + 2;
  for (const std::string& candidate : known) {
    const int distance = edit_distance(word, candidate);
    const int allowed = static_cast<int>(std::max(word.size(), candidate.size())) / 3 + 1;
    if (distance < best_distance && distance <= allowed) {
      best_distance = distance;
      best = candidate;
    }
  }
  return best;
}

}  // namespace tileflux
