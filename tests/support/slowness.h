#pragma once
/// How slow this machine is at this moment, so that limits on time fail for slow code and not for a slow or busy
/// machine.

#include <algorithm>
#include <chrono>

namespace tileflux::test {

#if defined(NDEBUG) && !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
constexpr bool for_release = true;
#else
constexpr bool for_release = false;
#endif

/// How many times longer than 4.6 ns (the machine on which the project's limits are meant) a division, a multiplication
/// and a sum take here, one after the other; at least 1.
inline double slowness() {
  constexpr int links = 200'000, tries = 20;
  constexpr double link_ns = 4.6;
  double least_ns = 1e9;
  volatile double sink = 0.0;
  for (int attempt = 0; attempt < tries; ++attempt) {
    double x = 1.5;
    const auto begin = std::chrono::steady_clock::now();
    for (int i = 0; i < links; ++i) x = 0.999 * x + 0.001 / x;
    const std::chrono::duration<double, std::nano> spent = std::chrono::steady_clock::now() - begin;
    sink = x;
    least_ns = std::min(least_ns, spent.count() / links);
  }
  return std::max(1.0, least_ns / link_ns) + 0.0 * sink;
}

/// What a test allows where the project promises `limit_s` on a quiet machine. Twice as much: caches and memory that
/// others use slow a program down by more than a chain of divisions. The benchmark prints the times themselves.
inline double allowed(double limit) { return 2.0 * slowness() * limit; }

}  // namespace tileflux::test
