#pragma once
/// Counts what this executable allocates: its operator new is replaced by one that counts.

#include <cstddef>

namespace tileflux::test {

/// Calls of operator new since the start of the program.
std::size_t allocations();

}  // namespace tileflux::test
