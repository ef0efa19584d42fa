#pragma once
/// Whether a netCDF file may be given to the library at all.

#include <filesystem>

namespace tileflux::results {

/// Whether a file begins as the classic format does.
bool is_classic_netcdf(const std::filesystem::path& path);

/// Whether every count in the head of a classic file (netCDF Classic and 64-bit Offset Format, NetCDF User's Guide,
/// appendix B) fits into the file. The library believes them, and asks for gigabytes where a byte is damaged.
bool classic_head_fits(const std::filesystem::path& path);

}  // namespace tileflux::results
