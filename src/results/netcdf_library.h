#pragma once
/// The netCDF library is not thread-safe: whoever calls it holds this.

#include <mutex>

namespace tileflux::results {

inline std::mutex& netcdf_mutex() {
  static std::mutex mutex;
  return mutex;
}

}  // namespace tileflux::results
