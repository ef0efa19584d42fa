#pragma once
/// By what a text is recognised.

#include <string>
#include <string_view>

namespace tileflux::results {

/// SHA-256 (FIPS 180-4) of the bytes, in 64 lower-case hexadecimal digits.
std::string sha256_of(std::string_view bytes);

}  // namespace tileflux::results
