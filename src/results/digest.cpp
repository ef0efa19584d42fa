#include "tileflux/results/digest.h"

#include <fmt/format.h>
#include <openssl/evp.h>

#include <array>

#include "tileflux/base/errors.h"

namespace tileflux::results {

std::string sha256_of(std::string_view bytes) {
  std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
  std::size_t size = 0;
  if (EVP_Q_digest(nullptr, "SHA256", nullptr, bytes.data(), bytes.size(), digest.data(), &size) != 1)
    throw Error(Code::internal, "the library of digests knows no SHA-256");
  std::string text;
  for (std::size_t i = 0; i < size; ++i) text += fmt::format("{:02x}", digest[i]);
  return text;
}

}  // namespace tileflux::results
