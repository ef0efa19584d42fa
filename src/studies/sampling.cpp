#include "studies/sampling.h"

#include <algorithm>
#include <atomic>
#include <numeric>
#include <random>
#include <thread>
#include <utility>

namespace tileflux::studies {

namespace {

/// In (0, 1), never at its ends: the standard library's own conversions differ between implementations.
double unit_number(std::mt19937_64& engine) {
  constexpr double scale = 0x1p-53;
  return (static_cast<double>(engine() >> 11) + 0.5) * scale;
}

}  // namespace

std::vector<std::vector<double>> unit_points(std::size_t count, std::size_t dimensions, std::uint64_t seed,
                                             bool latin) {
  std::vector<std::vector<double>> points(count, std::vector<double>(dimensions));
  std::mt19937_64 engine(seed);
  std::vector<std::size_t> order(count);
  for (std::size_t d = 0; d < dimensions; ++d) {
    std::iota(order.begin(), order.end(), std::size_t{0});
    for (std::size_t i = count; latin && i > 1; --i)
      std::swap(order[i - 1],
                order[std::min(i - 1, static_cast<std::size_t>(unit_number(engine) * static_cast<double>(i)))]);
    for (std::size_t i = 0; i < count; ++i) {
      const double inside = unit_number(engine);
      points[i][d] = latin ? (static_cast<double>(order[i]) + inside) / static_cast<double>(count) : inside;
    }
  }
  return points;
}

bool in_parallel(std::size_t count, unsigned threads, const std::function<void(std::size_t)>& task,
                 const std::function<bool(double share)>& go_on) {
  std::atomic<std::size_t> next{0};
  std::atomic<bool> stop{false};
  const auto work = [&](bool tells) {
    for (std::size_t i = next.fetch_add(1); i < count && !stop.load(); i = next.fetch_add(1)) {
      if (tells && go_on && !go_on(static_cast<double>(i) / static_cast<double>(count))) {
        stop.store(true);
        return;
      }
      task(i);
    }
  };
  std::vector<std::jthread> others;
  for (unsigned t = 1; t < threads && t < count; ++t) others.emplace_back(work, false);
  work(true);
  others.clear();
  return !stop.load();
}

}  // namespace tileflux::studies
