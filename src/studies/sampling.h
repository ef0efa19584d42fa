#pragma once
/// Numbers between 0 and 1 for samples, and work shared out to threads.

#include <cstdint>
#include <functional>
#include <vector>

namespace tileflux::studies {

/// `count` points in (0, 1)^dimensions; one per row and stratum of every dimension for a Latin hypercube (M. D. McKay,
/// R. J. Beckman, W. J. Conover, Technometrics 21, 239, 1979), otherwise independent. The same on every machine.
std::vector<std::vector<double>> unit_points(std::size_t count, std::size_t dimensions, std::uint64_t seed, bool latin);

/// Calls task(i) for 0 <= i < count on so many threads. `go_on` is asked on the calling thread; false leaves the rest
/// out. Returns whether all were done. Tasks must not throw.
bool in_parallel(std::size_t count, unsigned threads, const std::function<void(std::size_t)>& task,
                 const std::function<bool(double share)>& go_on);

}  // namespace tileflux::studies
