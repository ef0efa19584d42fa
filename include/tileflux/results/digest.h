#pragma once
/// By what a text or a file is recognised, and results are known to be whole.

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

namespace tileflux::results {

/// SHA-256 (FIPS 180-4) of the bytes, in 64 lower-case hexadecimal digits.
std::string sha256_of(std::string_view bytes);

/// The same of a file of any size. Throws Error (file_unreadable).
std::string sha256_of_file(const std::filesystem::path& file);

/// A JSON object in text, with two more keys: `files`, where there are any, with name, `bytes` and `sha256` of what was
/// written beside it; and behind all others `seal`, the digest of everything before that key. It guards against damage
/// and mistakes, not against malice. Throws Error (file_unreadable).
std::string sealed(std::string json, const std::vector<std::filesystem::path>& files = {});

/// Whether a text is as sealed() made it; one without a seal is not.
bool seal_holds(std::string_view json);

}  // namespace tileflux::results
