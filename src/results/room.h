#pragma once
/// Room on the disk, asked for before it is needed.
///
/// The netCDF library spreads one block over many places of its file. If the disk fills up half-way the file cannot be
/// opened any more, and hours of results are lost with it. So room is secured first, and a full disk is found while the
/// file is still whole.

#include <cstddef>
#include <filesystem>

namespace tileflux::results {

/// Secures room for a file to grow by `bytes` behind its end, without changing its size. Throws Error
/// (output_unwritable) if the disk, a quota or a limit of the process does not leave that much. Where the file system
/// cannot reserve, the free space is compared only.
void secure_room(const std::filesystem::path& path, std::size_t bytes);

/// Gives back what was secured and not used. Failures do not matter and are ignored.
void release_room(const std::filesystem::path& path) noexcept;

}  // namespace tileflux::results
